"""The rail: every garment that is physically here, with its place and its one next step.

Whatever became of the ticket: what was cancelled hangs here until it is handed back. The papers of
what is here (``notices``) read the same rows.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any, Generic, Protocol, TypeVar

from django.db import transaction
from django.db.models import Exists, OuterRef, Prefetch
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from jobs.billing.queries import with_balances
from jobs.counter.messages.drafts import Telling, tellings
from jobs.counter.ticket_list import WAITS_FOR, open_waits
from jobs.planning.models import Fitting, Wait
from jobs.tickets import actions
from jobs.tickets.models import Garment, Line, State, Ticket
from studio.shop import clock
from studio.shop.http import StudioRequest, say
from studio.shop.locales import show_day
from studio.shop.may import Tick
from studio.shop.messages import mail
from studio.shop.models import Profile


class Hanging(Protocol):
    """Whatever hangs somewhere: a garment's row on a page, or on a paper."""

    @property
    def hangs(self) -> str: ...


Row = TypeVar("Row", bound=Hanging)

Order = tuple[str, ...]
BY_PROMISE: Order = ("promise_at", "pk")


def tickets_here(*order: str) -> list[Any]:
    """The tickets of which something is here, with their balance, and as ``garments`` what is.

    Two queries for any number; the rail adds the rest of what its pictures and steps need.
    """
    here = Garment.objects.here()
    tickets = Ticket.objects.filter(Exists(here.filter(ticket=OuterRef("pk"))))
    whole = with_balances(tickets).select_related("client").order_by(*(order or BY_PROMISE))
    return list(whole.prefetch_related(Prefetch("garments", here.order_by("pk"))))


@dataclass(frozen=True)
class RailRow:
    """One garment. ``step`` is what comes next, at the address ``href``; ``mark`` its state.

    ``back`` is what its cancelled ticket has to give back, in minor units, told once a ticket;
    ``telling`` whether the client of one that is ready knows, likewise.
    """

    ticket: Any
    garment: Garment
    mark: tuple[str, str]
    step: str
    href: str
    back: int
    telling: Telling | None

    @property
    def hangs(self) -> str:
        return self.garment.hangs


@dataclass(frozen=True)
class RailPart(Generic[Row]):
    """Garments of one place, or of one day."""

    key: str
    words: str
    rows: list[Row]
    late: bool = False


def rail_rows(studio: Profile) -> list[RailRow]:
    """Everything that is here: ready, then in work, then cancelled, each by promise.

    Seven queries for any number.
    """
    garments = Garment.objects.here().order_by("pk").prefetch_related("photos", "lines")
    here = Garment.objects.here().filter(ticket=OuterRef("pk"))
    tickets = with_balances(Ticket.objects.filter(Exists(here))).select_related(
        "client", "client_page"
    )
    booked = Fitting.objects.filter(state=Fitting.State.BOOKED, starts_at__gte=clock.now())
    whole = tickets.order_by(*BY_PROMISE).prefetch_related(
        Prefetch("garments", garments),
        open_waits(),
        Prefetch("fittings", booked.order_by("starts_at"), to_attr="ahead"),
    )
    last = {State.READY: 0, State.CANCELLED: 2}
    told = tellings(whole, studio)
    return [
        _row(ticket, garment, studio, told.get(ticket.pk) if place == 0 else None, first=place == 0)
        for ticket in sorted(whole, key=lambda ticket: last.get(ticket.state, 1))
        for place, garment in enumerate(ticket.garments.all())
    ]


def _row(
    ticket: Any, garment: Garment, studio: Profile, telling: Telling | None, *, first: bool
) -> RailRow:
    mark, step, href = _next(ticket, garment, studio)
    back = max(-ticket.balance, 0) if first and ticket.state == State.CANCELLED else 0
    return RailRow(ticket, garment, mark, step, href, back, telling)


def _next(ticket: Any, garment: Garment, studio: Profile) -> tuple[tuple[str, str], str, str]:
    """How it stands, what comes next, and where that is done."""
    if ticket.state == State.CANCELLED:
        return ("none", "cancelled"), "Hand back", ticket.get_absolute_url()
    if ticket.state == State.READY:
        since = show_day(ticket.ready_at, studio.locale, year=False)
        return ("ready", f"since {since}"), "Hand over", reverse("ticket-pick-up", args=[ticket])
    page = f"{ticket.get_absolute_url()}#{garment.letter}"
    unsewn = _unsewn(garment)
    if not unsewn:
        others = [one.letter for one in ticket.garments.all() if _unsewn(one)]
        if others:
            return ("none", f"done, waits for {' and '.join(others)}"), "Open", page
        return ("none", "all sewn"), "Ready to collect", page
    return _to_sew(ticket, unsewn, studio, page)


def _to_sew(
    ticket: Any, unsewn: list[Line], studio: Profile, page: str
) -> tuple[tuple[str, str], str, str]:
    if waits := [wait for line in unsewn for wait in line.waits.all()]:
        return ("waits", f"waits: {WAITS_FOR[Wait.What(waits[0].what)]}"), "Resume", page
    if unmeasured := next((line for line in unsewn if line.to_measure), None):
        return ("unmeasured", ""), "Measure", reverse("line-measure", args=[unmeasured.pk])
    late = ticket.promise_at < clock.now()
    mark = ("late", "late") if late else ("none", ticket.get_state_display().lower())
    if ticket.ahead and unsewn[0].fitting_first:
        day = show_day(ticket.ahead[0].starts_at, studio.locale, year=False)
        return mark, f"Fitting {day}", page
    return mark, unsewn[0].name, page


def _unsewn(garment: Garment) -> list[Line]:
    return [
        line
        for line in garment.lines.all()
        if not (line.removed_at or line.done_at or line.not_done_why)
    ]


def by_place(rows: Iterable[Row], studio: Profile) -> "list[RailPart[Row]]":
    """The owner's places in their order, then others by name; what nobody placed comes last."""
    listed = {place: number for number, place in enumerate(studio.listed_places)}

    def order(row: Row) -> tuple[bool, int, str]:
        return (not row.hangs, listed.get(row.hangs, len(listed)), row.hangs)

    parts = groupby(sorted(rows, key=order), lambda row: row.hangs)
    return [
        RailPart(f"place-{number}", place or "Place not known", [*group])
        for number, (place, group) in enumerate(parts)
    ]


def by_promise(rows: Iterable[RailRow], studio: Profile) -> list[RailPart[RailRow]]:
    """What is late, then day by day; at the end what was cancelled."""

    def at(row: RailRow) -> date | str:
        if row.ticket.state == State.CANCELLED:
            return "Cancelled, still here"
        late = row.ticket.promise_at < clock.now() and row.ticket.state != State.READY
        return "Late" if late else clock.local(row.ticket.promise_at).date()

    def order(row: RailRow) -> tuple[int, date]:
        when = at(row)
        day = clock.local(row.ticket.promise_at).date()
        return ({"Late": 0, "Cancelled, still here": 2}.get(str(when), 1), day)

    parts = groupby(sorted(rows, key=order), at)
    return [
        RailPart(
            f"day-{number}",
            when if isinstance(when, str) else show_day(when, studio.locale, year=False),
            [*group],
            late=when == "Late",
        )
        for number, (when, group) in enumerate(parts)
    ]


def by_wait(rows: Iterable[RailRow], studio: Profile) -> list[RailPart[RailRow]]:
    """What is ready, the longest first; then all else in the order of its promise."""
    ready = [row for row in rows if row.ticket.state == State.READY]
    ready.sort(key=lambda row: row.ticket.ready_at or clock.now())
    rest = [row for row in rows if row.ticket.state != State.READY]
    first = [RailPart("to-collect", "To collect", ready)] if ready else []
    return [*first, *by_promise(rest, studio)]


ORDERS: dict[str, Callable[[list[RailRow], Profile], list[RailPart[RailRow]]]] = {
    "place": by_place,
    "promise": by_promise,
    "collect": by_wait,
}


@require_safe
def rail(request: StudioRequest) -> HttpResponse:
    rows = rail_rows(request.studio)
    by = request.GET.get("by", "")
    by = by if by in ORDERS else "place"
    parts = ORDERS[by](rows, request.studio)
    back = sum(row.back for row in rows) if request.user.may(Tick.PRICES) else 0
    cancelled = sum(row.ticket.state == State.CANCELLED for row in rows)
    context = {
        "parts": parts, "by": by, "count": len(rows), "back": back, "cancelled": cancelled,
        "mail_is_on": mail.load().is_on,
    }  # fmt: skip
    return render(request, "counter/rail.html", context)


@require_POST
def went_back(request: StudioRequest) -> HttpResponse:
    """What hangs here only because nobody has said that it was handed back."""
    here = Garment.objects.here().filter(ticket__state=State.CANCELLED)
    tickets = list(Ticket.objects.filter(pk__in=here.values("ticket")).order_by("pk"))
    with transaction.atomic():
        for ticket in tickets:
            actions.hand_back(ticket=ticket, by=request.user)
    say(request, f"Handed back: {', '.join(str(ticket) for ticket in tickets) or 'nothing'}.")
    return redirect("rail")
