"""Requests that no browser would send, over every address of the table and every form it shows.

``python -m tests.torture.fuzz`` puts what the addresses speak of into the studio of STUDIO_DATA
and prints the addresses, as JSON: their names, how they are asked, what they are sent.
"""

import contextlib
import json
import os
import random
import sys
import time
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urlencode

import django

from tests.jobs.planning.core.books import dice
from tests.torture.clerks import BROKEN, Answer, Browser, Fields
from tests.torture.fill import clerk_name
from tests.torture.scene import ENOUGH

HARD = [
    "", " ", "0", "-1", "1", "2", "99999999999999999999", "9" * 400, "1e309", "NaN", "-inf", "1,5",
    "1.5", "½", "3 1/2", "٣", "²", "\0", "\r\n", "a" * 3000, "💥" * 60, "\u202e", "<b>&amp;\"'",
    "'; --", "%s%n", "../../etc", "null", "[]", "{}", "true", "on", "2026-02-30", "9999-12-31",
    "0001-01-01", "2026-W01", "24:00", "00:00", "-0", "https://example.org/", "//example.org",
    "00000000-0000-0000-0000-000000000000", "+4912345", "a@b", "=1+1",
]  # fmt: skip
ENDS = ["", "?", "?page=0", "?page=-1", "?page=99999999999999999999", "?q=%00", "?q=%FF%FE",
        "?day=9999-12-31", "?month=0001-01", "?client=9" + "9" * 30, "?sort=--", "?next=//x",
        "?year=99999", "?work=%F0%9F%92%A5&pad=x", "?new=" + "a" * 900]  # fmt: skip
ALWAYS_LET = {"logout"}


@dataclass
class Form:
    action: str
    method: str
    fields: Fields = field(default_factory=dict)


class Forms(HTMLParser):
    """All forms of a page with what their fields hold."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.by_id: dict[str, Form] = {}
        self.inside: Form | None = None
        self._select = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        its = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.inside = Form(its.get("action", ""), its.get("method", "get").upper())
            self.forms.append(self.inside)
            self.by_id[its.get("id", "")] = self.inside
        form = self.by_id.get(its["form"]) if "form" in its else self.inside
        name = its.get("name", self._select if tag == "option" else "")
        if tag == "select":
            self._select = name
        if form is None or not name or tag not in {"input", "textarea", "option", "button"}:
            return
        if its.get("type") != "file" and (tag != "button" or name not in form.fields):
            form.fields.setdefault(name, its.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.inside = None


def addresses() -> list[dict[str, object]]:
    """One of each row of the table, with its row made."""
    from django.urls import reverse

    from jobs.tickets.models import Agreement, Ticket
    from studio.shop import clock
    from studio.shop.models import Profile, User
    from tests.drafts import received
    from tests.factories import AgreementFactory
    from tests.url_table import TABLE

    studio = Profile.objects.get()
    clock.activate(studio)
    rows = []
    for name, row in TABLE.items():
        path = reverse(name, kwargs=row.make())
        rows.append({"name": name, "path": path, "method": row.method, "data": row.data})
    # A bare ticket of the table has no agreement, or an empty one, which none of the counter has.
    agreed = received(studio, User.objects.earliest("pk")).agreements.get().data
    Agreement.objects.filter(data={}).update(data=agreed)
    for ticket in Ticket.objects.filter(agreements=None):
        AgreementFactory(ticket=ticket, version=ticket.version, data=agreed)
    return rows


def own_logins() -> list[str]:
    from django.urls import reverse

    from studio.shop.models import User

    clerks = User.objects.filter(username__startswith=clerk_name("")).values_list("pk", flat=True)
    return [f"{reverse('studio-people')}{pk}/" for pk in clerks]


@dataclass
class Fuzzer:
    """Sends ``requests`` of them; ``statuses`` says how often which was answered."""

    browser: Browser
    seed: str
    name: str
    rows: list[dict[str, object]]
    own: list[str] = field(default_factory=list)
    """What would shut the door on those who send: their own logins' addresses."""
    statuses: dict[int, int] = field(default_factory=dict)
    gone: list[str] = field(default_factory=list)

    def run(self, requests: int) -> "Fuzzer":
        rng = dice(self.seed)
        self.browser.log_in(self.name)
        while sum(self.statuses.values()) < requests and not ENOUGH.is_set():
            row = rng.choice(self.rows)
            if row["name"] in ALWAYS_LET:
                continue
            try:
                self._address(rng, row)
            except BROKEN as wrong:
                self.gone.append(f"{row['path']}: {wrong!r}")
                if len(self.gone) > 5:
                    break
        return self

    def _address(self, rng: random.Random, row: dict[str, object]) -> None:
        path = str(row["path"])
        if row["method"] == "post":
            self._post(rng, path, dict(row["data"]))
            return
        answer = self._count(self.browser.get(path + rng.choice(ENDS)))
        if answer.status != 200 or b"<form" not in answer.body:
            return
        forms = [form for form in Forms(answer.text).forms if "logout" not in form.action]
        for form in rng.sample(forms, min(3, len(forms))):
            action = form.action or path
            if form.method == "POST":
                self._post(rng, action, form.fields)
            else:
                asked = f"{action.partition('?')[0]}?{_query(rng, form.fields)}"
                self._count(self.browser.get(asked))

    def _post(self, rng: random.Random, path: str, fields: Fields) -> None:
        if not path.startswith("/") or path.startswith(("//", *self.own)):
            return
        fields = {name: value for name, value in fields.items() if name != "csrfmiddlewaretoken"}
        for name in rng.sample(sorted(fields), min(len(fields), rng.choice([0, 1, 1, 2, 5, 99]))):
            fields[name] = [rng.choice(HARD) for _ in range(rng.choice([1, 1, 1, 2]))]
        if fields and rng.random() < 0.1:
            del fields[rng.choice(sorted(fields))]
        if rng.random() < 0.05:
            fields[rng.choice(["intent", "back", "form_key", "opened", "entry"])] = rng.choice(HARD)
        answer = self._count(self.browser.post(path, fields))
        if answer.location.startswith("/login/"):
            self.browser.cookies.pop("sessionid", None)
            self._come_back()

    def _come_back(self) -> None:
        """Log in anew; where too many wrong tries were sent, a try comes back with time."""
        for wait in (20, 60, 120, 300):
            with contextlib.suppress(RuntimeError):
                self.browser.log_in(self.name)
                return
            time.sleep(wait)
        self.browser.log_in(self.name)

    def _count(self, answer: Answer) -> Answer:
        self.statuses[answer.status] = self.statuses.get(answer.status, 0) + 1
        return answer


def _query(rng: random.Random, fields: Fields) -> str:
    return urlencode({
        name: rng.choice(HARD) if rng.random() < 0.5 else value for name, value in fields.items()
    })  # fmt: skip


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    django.setup()
    json.dump({"rows": addresses(), "own": own_logins()}, sys.stdout, default=str)
