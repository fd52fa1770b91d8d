"""The list of tickets: what is promised, by day; what hangs on the rail; what has left."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from babel.dates import format_date
from django.core.paginator import Paginator
from django.db.models import (
    Count,
    Exists,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    prefetch_related_objects,
)
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_GET

from jobs.planning.models import Wait
from jobs.tickets.facts import places_of
from jobs.tickets.models import Garment, State, Ticket, garment_words
from jobs.tickets.queries import unmeasured
from studio.shop import clock
from studio.shop.http import StudioRequest
from studio.shop.locales import show_clock, show_day
from studio.shop.models import Profile
from studio.shop.text import fold
from studio.shop.week import load_week

ROWS = 40
"""Tickets on one page."""
RAILS = 11
"""Days to come that are shown at the top."""
MOST_PEGS = 14
"""Strips that can still be told apart on one rail."""
WAITS_FOR = {
    Wait.What.CLIENT: "an answer",
    Wait.What.PART: "a part",
    Wait.What.WASHING: "washing",
    Wait.What.SHOES: "shoes",
}


@dataclass(frozen=True)
class TicketRow:
    """A ticket as lists show it: what hangs there, in words too, and its marks with their words."""

    ticket: Ticket
    garments: list[Garment]
    names: str
    marks: list[tuple[str, str]]
    places: str = ""


@dataclass(frozen=True)
class DayRows:
    """The tickets of one day, those that are ``late``, or of what has left those of a month."""

    name: str
    words: str
    rows: list[TicketRow]
    late: bool = False
    today: bool = False


@dataclass(frozen=True)
class Peg:
    """One ticket on a rail of 60 units: where it hangs, how wide it is, and what holds it up."""

    x: float
    width: float
    kind: str


@dataclass(frozen=True)
class PromisedDay:
    """What is promised for one day to come; the first is of what is ``late``."""

    day: date
    pegs: list[Peg]
    count: int
    closed: bool
    late: bool
    today: bool
    href: str

    @property
    def kinds(self) -> set[str]:
        return {peg.kind for peg in self.pegs}


PEGS = [("", "To sew"), ("waits", "Waits"), ("late", "Late")]
"""The kinds of pegs, as the rails' legend names them."""


def open_waits() -> "Prefetch[Any]":
    return Prefetch("garments__lines__waits", Wait.objects.filter(ended_at=None))


def waiting() -> Exists:
    """Whether some open work of the ticket waits."""
    return Exists(
        Wait.objects.filter(
            ended_at=None,
            line__done_at=None,
            line__not_done_why="",
            line__removed_at=None,
            line__garment__removed_at=None,
            line__garment__ticket=OuterRef("pk"),
        )
    )


def to_measure() -> Exists:
    return Exists(unmeasured().filter(garment__ticket=OuterRef("pk")))


Chip = tuple[str, str, Q | Exists]


def chips() -> list[Chip]:
    """What the list can be cut down to, in the page's order: key, words and which tickets."""
    bench = Q(state__in=[State.RECEIVED, State.IN_WORK])
    return [
        ("to-sew", "to sew", bench),
        (State.READY, "on the rail", Q(state=State.READY)),
        ("waiting", "waiting", bench & Q(waiting())),
        ("unmeasured", "not measured", bench & Q(to_measure())),
        ("late", "late", bench & Q(promise_at__lt=clock.now())),
        (State.COLLECTED, "collected", Q(state=State.COLLECTED)),
        (State.CANCELLED, "cancelled", Q(state=State.CANCELLED)),
        ("all", "all", Q()),
    ]


def shown_by(key: str) -> tuple[Q, str]:
    """Which tickets are meant by ``key`` and what they are called; to be sewn where by nothing."""
    others: list[Chip] = [
        ("open", "in the studio", Q(state__in=State.open())),
        (State.RECEIVED, "received", Q(state=State.RECEIVED)),
        (State.IN_WORK, "in work", Q(state=State.IN_WORK)),
    ]
    known = {name: (Q(condition), words) for name, words, condition in [*chips(), *others]}
    return known.get(key, known["to-sew"])


def counts() -> dict[str, int]:
    """How many tickets each chip has, in two queries: one over the index of states, one over those
    on the bench."""
    late = Count("pk", filter=Q(promise_at__lt=clock.now()))
    states = Ticket.objects.order_by().values("state").annotate(number=Count("pk"), late=late)
    by_state = {row["state"]: (row["number"], row["late"]) for row in states}
    bench = Ticket.objects.on_the_bench().order_by()
    held = bench.aggregate(
        waiting=Count("pk", filter=waiting()), unmeasured=Count("pk", filter=to_measure())
    )
    sewn = [by_state.get(state, (0, 0)) for state in (State.RECEIVED, State.IN_WORK)]
    return {
        "to-sew": sum(number for number, _ in sewn),
        "late": sum(number_late for _, number_late in sewn),
        **{state: by_state.get(state, (0, 0))[0] for state in State.values},
        **held,
        "all": sum(number for number, _ in by_state.values()),
    }


def pictured(tickets: QuerySet[Ticket]) -> QuerySet[Ticket]:
    """With all that a row shows, in five queries for any number."""
    whole = tickets.select_related("client")
    return whole.prefetch_related("garments__lines", "garments__photos", open_waits())


def picture(tickets: list[Ticket]) -> None:
    """Fetch the same for tickets that were read already, with their client."""
    prefetch_related_objects(tickets, "garments__lines", "garments__photos", open_waits())


def rows_of(tickets: Iterable[Ticket], studio: Profile) -> list[TicketRow]:
    """The rows of tickets that are ``pictured``."""
    rows = []
    for ticket in tickets:
        garments = [one for one in ticket.garments.all() if one.removed_at is None]
        places = places_of(one for one in garments if one.handed_over_at is None)
        marks = list(_marks(ticket, studio))
        rows.append(TicketRow(ticket, garments, names(garments), marks, places))
    return rows


def names(garments: Sequence[Garment]) -> str:
    """``dress, moss`` of one or two, of more the kinds alone."""
    colours = len(garments) <= 2
    words = (garment_words("", one.kind_name, one.colour if colours else "") for one in garments)
    return (" and " if colours else ", ").join(words)


def _marks(ticket: Ticket, studio: Profile) -> Iterable[tuple[str, str]]:
    if ticket.state in {State.COLLECTED, State.CANCELLED}:
        left = ticket.collected_at or ticket.cancelled_at
        when = f" {show_day(left, studio.locale, year=False)}" if left else ""
        yield "none", f"{ticket.get_state_display()}{when}"
        return
    if ticket.state == State.READY:
        since = show_day(ticket.ready_at, studio.locale, year=False) if ticket.ready_at else ""
        yield "ready", f"since {since}"
        return
    lines = [
        line
        for garment in ticket.garments.all()
        for line in garment.lines.all()
        if garment.removed_at is None and line.removed_at is None
    ]
    still_open = [line for line in lines if not (line.done_at or line.not_done_why)]
    marked = False
    if ticket.promise_at < clock.now():
        marked = True
        today = clock.local(ticket.promise_at).date() == clock.today()
        when = (
            show_clock(ticket.promise_at, studio.locale)
            if today
            else show_day(ticket.promise_at, studio.locale, year=False)
        )
        yield "late", f"late, {when}"
    if waits := [wait for line in still_open for wait in line.waits.all()]:
        marked = True
        yield "waits", f"waits: {WAITS_FOR[Wait.What(waits[0].what)]}"
    if any(line.to_measure for line in still_open):
        marked = True
        yield "unmeasured", ""
    if not marked and len(still_open) < len(lines):
        done = sum(line.done_at is not None for line in lines)
        yield "none", f"{done} of {len(lines)} done"


def _by_day(rows: list[TicketRow], locale: str, *, bench: bool) -> list[DayRows]:
    """Rows by the day of their promise; of those on the bench what is late comes first."""
    now, today = clock.now(), clock.today()

    def day(row: TicketRow) -> date | None:
        late = bench and row.ticket.promise_at < now
        return None if late else clock.local(row.ticket.promise_at).date()

    return [
        DayRows(
            name=f"day-{at}" if at else "late",
            words=show_day(at, locale, year=at.year != today.year) if at else "Late",
            rows=[*group],
            late=at is None,
            today=at == today,
        )
        for at, group in groupby(rows, day)
    ]


def _by_month(rows: list[TicketRow], locale: str, moment: str) -> list[DayRows]:
    """Rows by the month in which they came in, were collected or cancelled."""

    def month(row: TicketRow) -> date:
        at: datetime = getattr(row.ticket, moment) or row.ticket.received_at
        return clock.local(at).date().replace(day=1)

    return [
        DayRows(f"month-{first:%Y-%m}", format_date(first, "LLLL y", locale=locale), [*group])
        for first, group in groupby(rows, month)
    ]


def rails(days: list[DayRows]) -> list[PromisedDay]:
    """What is late, and the days to come; three queries. Each leads to its day on the page, or else
    to that day alone."""
    today, now = clock.today(), clock.now()
    end = clock.at(today + timedelta(days=RAILS), time.min)
    bench = Ticket.objects.on_the_bench().filter(promise_at__lt=end).annotate(held=waiting())
    kinds: dict[date | None, list[str]] = {None: []}
    for promise_at, held in bench.order_by("promise_at", "pk").values_list("promise_at", "held"):
        late = promise_at < now
        key = None if late else clock.local(promise_at).date()
        kinds.setdefault(key, []).append("late" if late else "waits" if held else "")
    shown = {day.name for day in days}
    week = load_week()

    def rail(day: date | None) -> PromisedDay:
        pegs = kinds.get(day, [])
        name = f"day-{day}" if day else "late"
        query = urlencode({"day": day.isoformat()} if day else {"state": "late"})
        return PromisedDay(
            day=day or today,
            pegs=_pegs(pegs),
            count=len(pegs),
            closed=day is not None and not week.is_open(day),
            late=day is None,
            today=day == today,
            href=(f"#{name}" if name in shown else f"?{query}") if pegs else "",
        )

    ahead = [today + timedelta(days=days_on) for days_on in range(RAILS)]
    return [rail(None), *(rail(day) for day in ahead)]


def _pegs(kinds: list[str]) -> list[Peg]:
    kinds = kinds[:MOST_PEGS]
    step = min(13.0, 58 / max(1, len(kinds)))
    left = 30 - step * len(kinds) / 2
    return [
        Peg(round(left + step * place + step / 12, 1), round(step * 5 / 6, 1), kind)
        for place, kind in enumerate(kinds)
    ]


def nearest(typed: str) -> list[Ticket]:
    """Tickets of this year and the last whose number is one slip of the hand away. One query."""
    digits = re.sub(r"\D", "", typed)
    if not 3 <= len(digits) <= 6:
        return []
    tail = digits[-4:].zfill(4)
    swapped = {tail[:at] + tail[at + 1] + tail[at] + tail[at + 2 :] for at in range(3)}
    slipped = {tail[:at] + digit + tail[at + 1 :] for at in range(4) for digit in "0123456789"}
    turned = {tail[::-1], tail[2:] + tail[:2]}
    year = clock.today().year
    years = [digits[:2]] if len(digits) == 6 else [f"{year % 100:02d}", f"{(year - 1) % 100:02d}"]
    numbers = [f"{two}-{one}" for two in years for one in {*swapped, *slipped, *turned} - {tail}]
    tickets = Ticket.objects.filter(number__in=numbers).select_related("client")
    likely = [f"{two}-{one}" for two in years for one in swapped]
    return sorted(tickets, key=lambda ticket: ticket.number not in likely)[:3]


ORDERS = {
    State.COLLECTED: ("-collected_at", "-pk"),
    State.CANCELLED: ("-cancelled_at", "-pk"),
    "all": ("-received_at", "-pk"),
}


@require_GET
def tickets(request: StudioRequest) -> HttpResponse:
    """All tickets, cut down to a state or a day, or to those that hold what was typed."""
    typed = request.GET.get("q", "").strip()[:200]
    key = request.GET.get("state", "all" if typed else "to-sew")
    try:
        day = parse_date(request.GET.get("day", ""))
    except ValueError:
        day = None
    condition, words = shown_by(key)
    order = ORDERS.get(key, ("promise_at", "pk"))
    found = pictured(Ticket.objects.filter(condition).order_by(*order))
    if typed:
        named = Q(number__contains=typed.upper()) | Q(client__name_key__contains=fold(typed))
        found = found.filter(named)
    if day:
        since, until = clock.days(day, day)
        found = found.filter(promise_at__gte=since, promise_at__lt=until)
    page = Paginator(found, ROWS).get_page(request.GET.get("page"))
    rows = rows_of(page.object_list, request.studio)
    if key in ORDERS:
        days = _by_month(rows, request.studio.locale, order[0].removeprefix("-"))
    else:
        days = _by_day(rows, request.studio.locale, bench=key != State.READY)
    asked = {name: request.GET[name] for name in ("q", "state", "day") if request.GET.get(name)}
    numbers = counts()
    plain = key == "to-sew" and not (typed or day)
    hung = rails(days) if plain or day else []
    return render(
        request,
        "counter/tickets.html",
        {
            "typed": typed,
            "state": key,
            "words": words,
            "day": day,
            "days": days,
            "page": page,
            "asked": urlencode(asked),
            "chips": [(name, label, numbers[name]) for name, label, _ in chips()],
            "all": numbers["all"],
            "rails": hung,
            "pegs_key": [row for row in PEGS if any(row[0] in rail.kinds for rail in hung)],
            "nearest": nearest(typed) if typed and not rows else [],
        },
    )
