"""What a client sees behind the code on the claim ticket: how it stands, and the day.

The address is the key: whoever has it looks without a login, so it is 256 bits of chance, shows
neither the client's name nor phone nor a price, and ends some days after collection. A key that is
wrong, one that was revoked and one that has ended get the same answer.
"""

from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Lock

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.views.decorators.http import require_POST, require_safe

from jobs.tickets import actions
from jobs.tickets.models import ClientPage, State, Ticket
from jobs.tickets.queries import ticket_or_404
from jobs.tickets.views import say_step
from studio.shop import clock
from studio.shop.doors.throttle import Pace, address
from studio.shop.http import StudioRequest, go_back
from studio.shop.models import Profile
from studio.shop.templatetags.look import icon
from studio.shop.words import words_for

PACE = Pace(30, timedelta(seconds=2))
"""Looks of one address: thirty at once, then one every two seconds."""
MOST_ADDRESSES = 10_000
POLICY = "; ".join((
    "default-src 'none'", "style-src 'self'", "font-src 'self'", "img-src 'self'",
    "base-uri 'none'", "form-action 'none'", "frame-ancestors 'none'",
))  # fmt: skip
HEADERS = {
    "Cache-Control": "no-store, private",
    "Content-Security-Policy": POLICY,
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow",
}


class Looks:
    """How far each address has run ahead, in this process alone: a look writes nothing down, so
    that nobody outside makes the counter wait for the database."""

    def __init__(self) -> None:
        self._rested: OrderedDict[str, datetime] = OrderedDict()
        self._lock = Lock()

    def too_many(self, origin: str) -> bool:
        """Counts this look, unless it is one too many. A clock that was set back waits no longer
        than a full refill."""
        now = clock.now()
        with self._lock:
            rested = min(self._rested.get(origin, now), PACE.emptied(now))
            if PACE.wait(rested, now) > timedelta(0):
                return True
            self._rested[origin] = max(rested, now) + PACE.refill
            self._rested.move_to_end(origin)
            while len(self._rested) > MOST_ADDRESSES:
                self._rested.popitem(last=False)
        return False

    def clear(self) -> None:
        self._rested.clear()


looks = Looks()


@dataclass(frozen=True)
class Stop:
    """One of the three places where garments are; ``day`` is when they came there, or will."""

    words: str
    day: str = ""
    here: bool = False
    past: bool = False


def shown_page(key: str, studio: Profile) -> ClientPage | None:
    """The page of this key while it is open. Two queries at most."""
    if not studio.page_address or not key:
        return None
    page = ClientPage.objects.filter(key=key).select_related("ticket__client").first()
    if (
        page is None
        or not page.is_open
        or page.ticket.client.erased_at
        or has_ended(page.ticket, studio)
    ):
        return None
    return page


def has_ended(ticket: Ticket, studio: Profile) -> bool:
    over = ticket.collected_at or ticket.cancelled_at
    if ticket.is_open or over is None:
        return False
    last = clock.local(over).date() + timedelta(days=studio.page_days)
    return clock.today() > last


@login_not_required
@require_safe
def client_page(request: HttpRequest, key: str) -> HttpResponse:
    studio: Profile = request.studio  # type: ignore[attr-defined]
    if looks.too_many(address(request)):
        return _answer(request, studio, "too_many", 429)
    page = shown_page(key, studio)
    if page is None:
        return _answer(request, studio, "none", 404)
    if request.user.is_authenticated and "look" not in request.GET:
        # Whoever works here has scanned the client's paper, and wants the ticket.
        return _guarded(redirect(page.ticket))
    return _answer(request, studio, "page", 200, page.ticket)


def _answer(
    request: HttpRequest, studio: Profile, what: str, status: int, ticket: Ticket | None = None
) -> HttpResponse:
    words = words_for(ticket.client.language if ticket else "", studio)
    context: dict[str, object] = {
        "words": words,
        "what": what,
        "shop": studio.name,
        "phone": studio.phone,
    }
    if ticket:
        context |= {
            "state": ticket.state,
            "stages": stages(ticket, studio),
            "ready_by": words.day(clock.local(ticket.promise_at)),
            "at": words.clock(ticket.promise_at),
            "over": _over(ticket, studio),
        }
    response = render(request, "counter/messages/client_page.html", context, status=status)
    if status == 429:
        response.headers["Retry-After"] = f"{PACE.refill.seconds * 5}"
    return _guarded(response)


def _guarded(response: HttpResponse) -> HttpResponse:
    for name, value in HEADERS.items():
        response.headers[name] = value
    return response


def stages(ticket: Ticket, studio: Profile) -> list[Stop]:
    words = words_for(ticket.client.language, studio)

    def day(at: datetime | None) -> str:
        return words.day(clock.local(at), year=False) if at else ""

    names = [words("Received"), words("Being sewn"), words("Ready to collect")]
    days = [day(ticket.received_at), day(ticket.started_at), day(ticket.ready_at)]
    places = {State.RECEIVED: 0, State.IN_WORK: 1, State.READY: 2}
    here = places.get(State(ticket.state), 3)
    return [
        Stop(name, days[at] if at <= here else "", here=at == here, past=at < here)
        for at, name in enumerate(names)
    ]


def _over(ticket: Ticket, studio: Profile) -> tuple[str, str] | None:
    """What became of it once it is no longer here, and when."""
    words = words_for(ticket.client.language, studio)
    if ticket.state == State.COLLECTED and ticket.collected_at:
        return words("Collected"), words.day(clock.local(ticket.collected_at))
    if ticket.state == State.CANCELLED and ticket.cancelled_at:
        return words("Cancelled"), words.day(clock.local(ticket.cancelled_at))
    return None


def _print_anew(words: str, ticket: Ticket) -> str:
    """The address stands on the claim ticket, so that this is the next step."""
    link = '{} <a href="{}" target="_blank">{}Print the claim ticket anew</a>'
    return format_html(link, words, reverse("ticket-claim", args=[ticket]), icon("print"))


@require_POST
def page_open(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    if request.studio.page_address:
        actions.open_client_page(ticket=ticket, by=request.user)
        messages.success(request, _print_anew("The page for the client is open.", ticket))
    return go_back(request, ticket)


@require_POST
def page_renew(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    if request.studio.page_address:
        actions.renew_client_page(ticket=ticket, by=request.user)
        words = "New address; the one before shows nothing any more."
        messages.success(request, _print_anew(words, ticket))
    return go_back(request, ticket)


@require_POST
def page_close(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    actions.close_client_page(ticket=ticket, by=request.user)
    say_step(request, ticket, "The page for the client is closed.")
    return go_back(request, ticket)
