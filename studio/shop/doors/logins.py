"""Where somebody is logged in, and how lately they gave their password.

Both are facts of Django's own session, which is all there is of a login: to log out there is to
delete that session. A session tells the browser in plain words, since when it is open and when it
was last seen, which is written once an hour at most. It ends two weeks after the login, whatever is
written to it meanwhile.

Where a login has a second factor (``studio.shop.doors.second``), the right password only leaves a
note of it in the session, and the login begins when that factor is there too.

Before something leaves the studio as a file, or goes for good, the password is asked for again if
it was given longer than ``FRESH`` ago, and the second factor with it: ``fresh_password`` and
``fresh_password_for_file`` guard such views. An answer counts among the tries to log in
(``studio.shop.doors.throttle``).
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial, wraps
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth import HASH_SESSION_KEY, SESSION_KEY
from django.contrib.auth import login as django_login
from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.models import Session
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.crypto import constant_time_compare, salted_hmac
from django.views.decorators.debug import sensitive_post_parameters

from studio.shop import clock
from studio.shop.doors.forms import ProofForm
from studio.shop.http import StudioRequest, View, is_own_path
from studio.shop.models import User

LOGIN = "login"
"""Of a session: ``browser``, ``since`` (empty where the login is older than the list), ``seen``."""
PROVED = "proved"
WAITING = "waiting"
FRESH = timedelta(minutes=10)
HOUR = timedelta(hours=1)

# The first that is found names it: many call themselves by the names of others as well.
BROWSERS = [
    ("Edg", "Edge"), ("OPR/", "Opera"), ("SamsungBrowser", "Samsung Internet"),
    ("Firefox/|FxiOS", "Firefox"), ("Chrom|CriOS", "Chrome"), ("Safari/", "Safari"),
]  # fmt: skip
MACHINES = [
    ("iPhone", "an iPhone"), ("iPad", "an iPad"), ("Android.*Mobile", "an Android phone"),
    ("Android", "an Android tablet"), ("CrOS", "a Chromebook"), ("Windows", "Windows"),
    ("Macintosh", "a Mac"), ("Linux", "Linux"),
]  # fmt: skip


def plain_browser(agent: str) -> str:
    """A browser's ``User-Agent`` in plain words, such as “Firefox on an Android phone”."""

    def first(names: list[tuple[str, str]]) -> str:
        return next((name for pattern, name in names if re.search(pattern, agent)), "")

    browser, machine = first(BROWSERS) or "A browser", first(MACHINES)
    return f"{browser} on {machine}" if machine else browser


def begin(sender: object, request: HttpRequest, user: User, **kwargs: Any) -> None:
    """What a login writes into its session (Django's ``user_logged_in``)."""
    now = clock.now()
    browser = plain_browser(request.headers.get("User-Agent", ""))
    request.session[LOGIN] = {"browser": browser, "since": f"{now}", "seen": f"{now}"}
    request.session.set_expiry(now + timedelta(seconds=settings.SESSION_COOKIE_AGE))
    prove(request)


def wait_for_second(request: HttpRequest, user: User, goes_on: str) -> None:
    """The password was right. Nobody is logged in before the second factor is, see ``waiting``."""
    request.session.cycle_key()
    request.session[WAITING] = {
        "user": user.pk,
        "backend": user.backend,
        "proof": user.get_session_auth_hash(),
        "goes_on": goes_on,
        "since": f"{clock.now()}",
    }


@dataclass(frozen=True)
class Waiting:
    user: User
    backend: str
    goes_on: str


def waiting(request: HttpRequest) -> Waiting | None:
    """Who gave the password in this browser ten minutes ago at most, and may still log in."""
    facts = request.session.get(WAITING)
    if not facts:
        return None
    user = User.objects.filter(pk=facts["user"], is_active=True).first()
    if not user or not is_recent(facts["since"]):
        return None
    if not constant_time_compare(facts["proof"], user.get_session_auth_hash()):
        return None
    return Waiting(user, facts["backend"], facts["goes_on"])


def log_in_at_last(request: HttpRequest, login: Waiting) -> None:
    """Under another key of the session, as Django does it."""
    del request.session[WAITING]
    django_login(request, login.user, backend=login.backend)


def note_seen(request: HttpRequest) -> None:
    """Write down that a login is in use, once an hour; a disk without room stops no page."""
    session, now = request.session, clock.now()
    if SESSION_KEY not in session:
        return
    known = session.get(LOGIN)
    if known and abs(now - datetime.fromisoformat(known["seen"])) < HOUR:
        return
    browser = plain_browser(request.headers.get("User-Agent", ""))
    session[LOGIN] = {"since": "", **(known or {}), "browser": browser, "seen": f"{now}"}
    try:
        session.save()
    except (DatabaseError, UpdateError):
        session[LOGIN] = known
    session.modified = False


@dataclass(frozen=True)
class Place:
    """One login; ``handle`` names it on a page without telling the session's key."""

    handle: str
    browser: str
    since: datetime | None
    seen: datetime | None
    here: bool

    @property
    def in_the_hand(self) -> bool:
        return self.browser.endswith(("phone", "iPhone", "iPad", "tablet"))


def _sessions_of(user: User) -> list[tuple[Session, dict[str, Any]]]:
    """Those that still open something: not run out, and begun with the password of today."""
    proof = user.get_session_auth_hash()
    return [
        (row, data)
        for row in Session.objects.filter(expire_date__gt=clock.now())
        if (data := row.get_decoded()).get(SESSION_KEY) == str(user.pk)
        and constant_time_compare(data.get(HASH_SESSION_KEY, ""), proof)
    ]


def _handle(key: str) -> str:
    return salted_hmac("studio.shop.doors.logins", key).hexdigest()[:24]


def places(request: StudioRequest) -> list[Place]:
    """Where whoever asks is logged in: here first, then what was seen last. One query."""

    def moment(text: str) -> datetime | None:
        return datetime.fromisoformat(text) if text else None

    logins = [
        Place(
            handle=_handle(row.session_key),
            browser=login.get("browser") or "A browser",
            since=moment(login.get("since", "")),
            seen=moment(login.get("seen", "")),
            here=row.session_key == request.session.session_key,
        )
        for row, data in _sessions_of(request.user)
        for login in [data.get(LOGIN) or {}]
    ]
    return sorted(logins, key=lambda it: (it.here, f"{it.seen or ''}"), reverse=True)


def log_out(request: StudioRequest, handle: str = "") -> int:
    """End the login with this handle, or all but the one that asks; how many were ended."""
    here = request.session.session_key
    keys = [row.session_key for row, _ in _sessions_of(request.user) if row.session_key != here]
    ended = [key for key in keys if not handle or _handle(key) == handle]
    return Session.objects.filter(pk__in=ended).delete()[0]


def prove(request: HttpRequest) -> None:
    request.session[PROVED] = f"{clock.now()}"


def is_fresh(request: HttpRequest) -> bool:
    """Whether the password was given lately; a moment that lies ahead is no proof."""
    return is_recent(request.session.get(PROVED))


def is_recent(moment: str | None) -> bool:
    if not moment:
        return False
    return timedelta(0) <= clock.now() - datetime.fromisoformat(moment) < FRESH


# What the page that asks sends beside the password: that something was only to be opened, and
# the page from which it was.
OPENS, BACK = "proof-opens", "proof-back"


def fresh_password(view: View, *, file: bool = False) -> View:
    """Ask for the password unless it was given lately; what was typed is sent on with it.

    Stands below ``owner_only``. A ``file`` is offered on a page of its own afterwards, since a
    browser that loads a file stays where it was.
    """

    @wraps(view)
    def guarded(request: StudioRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if "proof-password" in request.POST:
            form = ProofForm(request, request.POST)
            if form.is_valid():
                prove(request)
                if OPENS not in request.POST:
                    return view(request, *args, **kwargs)
                return _ask(request, None) if file else redirect(request.get_full_path())
            return _ask(request, form)
        if is_fresh(request):
            return view(request, *args, **kwargs)
        return _ask(request, ProofForm(request))

    guard: Callable[[Any], View] = sensitive_post_parameters()
    return guard(guarded)


fresh_password_for_file = partial(fresh_password, file=True)


def _ask(request: StudioRequest, form: ProofForm | None) -> HttpResponse:
    """The page that asks for the password, or without a ``form`` the one that offers the file."""
    back = request.POST.get(BACK) or urlsplit(request.headers.get("Referer", "")).path
    typed = [
        (name, value)
        for name in request.POST
        if not name.startswith(("proof-", "csrfmiddlewaretoken"))
        for value in request.POST.getlist(name)
    ]
    context = {
        "form": form,
        "typed": typed,
        "opens": request.method != "POST" or OPENS in request.POST,
        "back": back if is_own_path(back) else "",
        "path": request.get_full_path(),
    }
    return render(request, "shop/proof.html", context)
