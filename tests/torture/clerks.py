"""Clerks at browsers of their own, and the ledger each keeps of what the studio answered."""

import http.client
import io
import random
import re
import time
from dataclasses import dataclass, field
from html import unescape
from http.cookies import SimpleCookie
from typing import Any
from urllib.parse import quote, urlencode
from uuid import UUID

from PIL import Image

from tests.jobs.counter.html_form import HtmlForm
from tests.jobs.planning.core.books import dice
from tests.torture.fill import PASSWORD

BROKEN = (OSError, http.client.HTTPException)
"""What a browser sees of a studio that is not there, or goes in the middle of an answer."""
PATIENCE = 120
"""Seconds after which a browser gives up."""

Fields = dict[str, Any]


@dataclass(frozen=True)
class Answer:
    status: int
    location: str
    body: bytes
    seconds: float

    @property
    def text(self) -> str:
        return self.body.decode(errors="replace")


@dataclass
class Browser:
    """Cookies, forms and the slowest answer, over HTTP as from a machine of the house."""

    port: int
    cookies: dict[str, str] = field(default_factory=dict)
    slowest: tuple[float, str] = (0.0, "")
    broken_pages: list[str] = field(default_factory=list)
    heads: dict[str, str] = field(default_factory=dict)
    """What a web server in front would add."""

    def get(self, path: str) -> Answer:
        return self.send("GET", path)

    def post(self, path: str, fields: Fields, **files: bytes) -> Answer:
        fields = {"csrfmiddlewaretoken": self.cookies.get("csrftoken", ""), **fields}
        return self.send("POST", path, *as_form(fields, files))

    def send(self, method: str, path: str, body: bytes = b"", kind: str = "") -> Answer:
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        heads = {**self.heads, "Cookie": cookies}
        if kind:
            heads["Content-Type"] = kind
        begun = time.monotonic()
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        try:
            line.request(method, path, body or None, heads)
            response = line.getresponse()
            told = Answer(
                response.status, response.headers.get("Location") or "", response.read(),
                time.monotonic() - begun,
            )  # fmt: skip
        finally:
            line.close()
        for cookie in response.headers.get_all("Set-Cookie") or []:
            for name, morsel in SimpleCookie(cookie).items():
                self.cookies[name] = morsel.value
        if not is_paper(path.partition("?")[0]):
            self.slowest = max(self.slowest, (told.seconds, f"{method} {path.partition('?')[0]}"))
        if told.status >= 500:
            self.broken_pages.append(f"{told.status} {method} {path} {body[:300]!r}")
        return told

    def log_in(self, name: str) -> None:
        self.get("/login/")
        answer = self.post("/login/", {"username": name, "password": PASSWORD, "next": ""})
        if answer.status != 302:
            raise RuntimeError(f"{name} was not let in: {answer.status}")


def is_paper(path: str) -> bool:
    return path.endswith((".pdf", "/paper/")) or path.startswith("/receipts/")


def as_form(fields: Fields, files: dict[str, bytes]) -> tuple[bytes, str]:
    """The body of a form and its type; as parts only where a file goes along."""
    pairs = [
        (name, str(item))
        for name, value in fields.items()
        for item in (value if isinstance(value, list) else [value])
    ]
    if not files:
        return urlencode(pairs).encode(), "application/x-www-form-urlencoded"
    parts = [
        f'--cut\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
        for name, value in pairs
    ]
    for name, content in files.items():
        head = f'--cut\r\nContent-Disposition: form-data; name="{name}"; filename="a.png"\r\n'
        parts.append(head.encode() + b"Content-Type: image/png\r\n\r\n" + content + b"\r\n")
    return b"".join(parts) + b"--cut--\r\n", "multipart/form-data; boundary=cut"


def picture(rng: random.Random) -> bytes:
    kept = io.BytesIO()
    colour = tuple(rng.randrange(256) for _ in range(3))
    Image.new("RGB", (rng.randrange(200, 900), rng.randrange(200, 900)), colour).save(kept, "PNG")
    return kept.getvalue()


@dataclass
class Deed:
    """Something that was sent. ``answered`` once the studio said that it is done.

    ``key`` is the form's, by which the book knows it; of a photograph the number of its garment.
    """

    kind: str
    key: str
    path: str
    fields: Fields
    answered: bool = False
    number: str = ""
    amount: int = 0


class Clerk:
    """Drops off, pays, issues invoices, photographs and backs up, as the dice of ``seed`` fall."""

    def __init__(self, name: str, port: int, seed: str) -> None:
        self.name, self.rng = name, dice(seed)
        self.browser = Browser(port)
        self.ledger: list[Deed] = []
        self.refused: list[str] = []
        self.tickets: list[tuple[str, str]] = []  # their numbers, and their garments' keys
        self.papers: list[tuple[str, bytes]] = []
        self.unsure: Deed | None = None
        self.backs_up = False

    def work(self, until: float) -> None:
        """Go on until that moment, or until the studio is gone (``BROKEN``)."""
        self.come_in()
        if self.unsure:
            self._again(self.unsure)
        while time.monotonic() < until:
            self.one_deed()

    def come_in(self) -> None:
        """Passwords are slow to check on purpose: what that takes is no answer of the studio's."""
        if "sessionid" not in self.browser.cookies:
            slowest = self.browser.slowest
            self.browser.log_in(self.name)
            self.browser.slowest = slowest

    def one_deed(self) -> None:
        if not self.tickets or self.rng.random() < 0.2:
            self.drop_off()
            return
        number, garment = self.rng.choice(self.tickets)
        fall = self.rng.random()
        if fall < 0.5:
            cents = self.rng.randrange(1, 40)
            fields = {"amount": f"0.{cents:02}", "method": "cash", "note": ""}
            self._book("payment", f"/t/{number}/pay/", fields, amount=cents)
        elif fall < 0.7:
            self.photograph(garment, picture(self.rng))
        elif fall < 0.8 and self.backs_up:
            self._back_up()
        else:
            self._invoice()

    def new_key(self) -> str:
        return str(UUID(int=self.rng.getrandbits(128), version=4))

    def drop_off(self) -> None:
        name = "".join(self.rng.choices("abcdefghijklmnopqrstuvwxyz", k=12)).title()
        page = self.browser.get(
            f"/drop-off/?new={quote(f'{name} 08{self.rng.randrange(10**8):08}')}"
        )
        if page.status != 200:
            self.refused.append(f"{page.status} the page for a drop-off")
            self._come_in_again(page)
            return
        form = HtmlForm(page.text)
        kind, work = self.rng.choice([(1, 1), (2, 2)])
        fields: Fields = {
            **form.fields, "g0-kind": kind, "g0-worn": "worn", "g0-l0-operation": work,
            "intent": "save",
        }  # fmt: skip
        if self.rng.random() < 0.5:
            fields |= {"paid": "5.00", "method": "cash"}
        deed = Deed("drop-off", form.fields["form_key"][0], form.action, fields)
        answer = self._do(deed)
        if hit := re.search(r"^/t/([\w-]+)/", answer.location):
            self._keep(deed, hit[1])
            garment = re.search(r"/garments/(\d+)/photo/", self.browser.get(f"/t/{hit[1]}/").text)
            if garment:
                self.tickets.append((hit[1], garment[1]))
        else:
            self._refuse(deed, answer)

    def _invoice(self) -> None:
        """Of the eldest ticket without one; then its paper is read."""
        done = {deed.path for deed in self.ledger if deed.kind == "invoice"}
        for number, _ in self.tickets:
            path = f"/t/{number}/invoice/"
            if path in done:
                continue
            deed = self._book("invoice", path, {"anyway": "yes"})
            if deed.answered:
                address = f"/invoices/{deed.number}/paper/"
                paper = self.browser.get(address)
                if paper.status == 200:
                    self.papers.append((deed.number, paper.body))
            return

    def _book(self, kind: str, path: str, fields: Fields, amount: int = 0) -> Deed:
        key = self.new_key()
        deed = Deed(kind, key, path, {**fields, "form_key": key}, amount=amount)
        self.send(deed)
        return deed

    def send(self, deed: Deed) -> None:
        self._judge(deed, self._do(deed))

    def _judge(self, deed: Deed, answer: Answer) -> None:
        if deed.kind == "invoice":
            hit = re.search(r"^/invoices/([\w-]+)/", answer.location)
        elif deed.kind == "drop-off":
            hit = re.search(r"^/t/([\w-]+)/", answer.location)
        else:
            done = answer.status == 302 and not answer.location.startswith("/login/")
            hit = re.search(r"()", answer.location) if done else None
        if hit:
            self._keep(deed, hit[1])
        else:
            self._refuse(deed, answer)

    def photograph(self, garment: str, content: bytes) -> None:
        deed = Deed("photograph", garment, f"/garments/{garment}/photo/", {})
        self.unsure = deed
        self.ledger.append(deed)
        self._judge(deed, self.browser.post(deed.path, {}, picture=content))

    def _back_up(self) -> None:
        """Only what the next page calls backed up counts as answered."""
        deed = Deed("backup", "", "/studio/backups/now/", {})
        answer = self._do(deed)
        self.unsure = None
        if answer.status == 302 and not answer.location.startswith("/login/"):
            deed.answered = "Backed up:" in self.browser.get("/studio/backups/").text
        else:
            self._refuse(deed, answer)

    def _do(self, deed: Deed) -> Answer:
        self.unsure = deed
        self.ledger.append(deed)
        return self._post(deed)

    def _post(self, deed: Deed) -> Answer:
        """Where the studio doubts its clock, the clerk says that it is right."""
        answer = self.browser.post(deed.path, deed.fields)
        if answer.status == 409 and "clock_is_right" in answer.text:
            answer = self.browser.post(deed.path, {**deed.fields, "clock_is_right": "yes"})
        return answer

    def _come_in_again(self, answer: Answer) -> None:
        """Logins end after two weeks, by the studio's clock."""
        if answer.location.startswith("/login/"):
            self.browser.cookies.pop("sessionid", None)
            self.come_in()

    def _keep(self, deed: Deed, number: str = "") -> None:
        deed.answered, deed.number, self.unsure = True, number, None

    def _refuse(self, deed: Deed, answer: Answer) -> None:
        self.unsure = None
        self.ledger.remove(deed)
        words = re.findall(r'(?s)class="(?:errorlist|message[^"]*)".*?</(?:ul|p|div)>', answer.text)
        plain = " ".join(unescape(re.sub(r"<[^>]*>", " ", " ".join(words))).split())
        self.refused.append(f"{answer.status} {deed.kind} {deed.path}: {plain[:200]}")
        self._come_in_again(answer)

    def _again(self, deed: Deed) -> None:
        """Send what was never answered once more: the same key, so the same thing and not two.

        A photograph and a copy have no key, and stay without an answer.
        """
        if deed.kind in {"photograph", "backup"}:
            self.unsure = None
            return
        self._judge(deed, self._post(deed))
