"""The book of work as the database holds it, in a number of queries that never grows."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, Q, QuerySet, Subquery, Sum

from jobs.planning.bench import Bench, Busy, Shift, lay_out
from jobs.planning.book import Book, OwnTarget, monday_of
from jobs.planning.core import Ratio, median_remaining
from jobs.planning.models import (
    FELL_THROUGH,
    Appointment,
    BenchTime,
    Fitting,
    OwnWeek,
    PlanRules,
    Wait,
)
from jobs.planning.workload import FittingAt, Job, Work
from jobs.pricing.models import WorkOrder
from jobs.tickets.models import Line, State, Ticket
from jobs.tickets.quoting import line_minutes
from studio.shop import clock
from studio.shop.models import DayOff, Profile, WorkingDay

HORIZON = 84
"""Days that are laid out with their appointments; after them the week repeats."""


@dataclass(frozen=True)
class Shop:
    """The hours of the studio: shifts by weekday and days off, as read."""

    shifts: dict[int, Shift]
    closed: frozenset[date]

    def is_open(self, day: date) -> bool:
        return day.weekday() in self.shifts and day not in self.closed


def read_shop() -> Shop:
    """Two queries."""
    days = WorkingDay.objects.filter(minutes__gt=0)
    since = monday_of(clock.today())
    closed = DayOff.objects.filter(day__gte=since).values_list("day", flat=True)
    return Shop({day.weekday: Shift(day.starts, day.minutes) for day in days}, frozenset(closed))


@dataclass(frozen=True)
class Reading:
    """The book with what the pages show beside it."""

    book: Book
    shop: Shop
    rules: PlanRules
    fittings: list[Fitting]
    appointments: list[Appointment]


def read_book(studio: Profile, *, without: Ticket | None = None) -> Reading:
    """Everything the planner needs, in eight queries.

    ``without`` leaves one ticket's work out, to ask about it anew.
    """
    # Whole minutes, so that no page shows the seconds of its own making.
    now, zone = clock.now().replace(second=0, microsecond=0), ZoneInfo(studio.time_zone)
    rules, shop = PlanRules.load(), read_shop()
    today = clock.today()
    fittings = read_fittings(clock.at(today, datetime.min.time()))
    appointments = list(Appointment.objects.filter(starts_at__gte=now - timedelta(days=1)))
    jobs = read_jobs(fittings, now, without)
    other = [one for one in appointments if one.kind == Appointment.Kind.OTHER]
    own = [one for one in appointments if one.kind == Appointment.Kind.OWN]
    booked = [one for one in fittings if one.state in {Fitting.State.BOOKED, Fitting.State.KEPT}]
    busy, blocks = _stretches([*booked, *other]), _stretches(own)
    # The bench ends with a whole week, so that the days after it can follow its pattern.
    days = HORIZON + 6 - (today.weekday() + HORIZON - 1) % 7
    bench = lay_out(
        now,
        days,
        zone,
        shop.shifts,
        closed=shop.closed,
        busy=[*busy, *blocks],
        cuts=[job.promise_at for job in jobs],
        lost_percent=rules.lost_percent,
    )
    targets = own_targets(rules, bench, shop, own)
    book = Book(bench, tuple(jobs), busy, blocks, targets, rules.min_piece)
    return Reading(book, shop, rules, fittings, appointments)


def read_fittings(since: datetime) -> list[Fitting]:
    """The fittings of tickets in the studio, and those kept since ``since``; none cancelled."""
    here = Q(ticket__state__in=State.open())
    kept = Q(state=Fitting.State.KEPT, starts_at__gte=since)
    fittings = Fitting.objects.exclude(state=Fitting.State.CANCELLED).filter(here | kept)
    return list(fittings.select_related("ticket__client"))


def open_lines() -> QuerySet[Line]:
    """Operations still to be done on tickets at the bench, with what holds them up."""
    spent = (
        BenchTime.objects.filter(line=OuterRef("pk"))
        .order_by()
        .values("line")
        .annotate(total=Sum("minutes"))
        .values("total")
    )
    waits = Wait.objects.filter(line=OuterRef("pk"), ended_at=None)
    return (
        Line.objects.filter(
            garment__ticket__state__in=[State.RECEIVED, State.IN_WORK],
            garment__removed_at=None,
            removed_at=None,
            done_at=None,
            not_done_why="",
        )
        .select_related("garment__ticket__client", "gate__fitting", "cut_mark")
        .annotate(
            spent=Subquery(spent),
            waits_for=Subquery(waits.values("what")[:1]),
            wait_until=Subquery(waits.values("expected")[:1]),
        )
        .order_by("garment__ticket__promise_at", "garment__ticket__number", "work_order", "pk")
    )


def read_jobs(
    fittings: Iterable[Fitting], now: datetime, without: Ticket | None = None
) -> list[Job]:
    """Each ticket at the bench with its open operations, in one query."""
    by_ticket: dict[int, list[Fitting]] = defaultdict(list)
    for fitting in fittings:
        by_ticket[fitting.ticket_id].append(fitting)
    lines: dict[int, list[Line]] = defaultdict(list)
    tickets: dict[int, Ticket] = {}
    for line in open_lines():
        ticket = line.garment.ticket
        if without is None or ticket.pk != without.pk:
            lines[ticket.pk].append(line)
            tickets[ticket.pk] = ticket
    return [
        job_of(ticket, lines[pk], sorted(by_ticket[pk], key=lambda one: one.starts_at), now)
        for pk, ticket in tickets.items()
    ]


def job_of(ticket: Ticket, lines: list[Line], fittings: list[Fitting], now: datetime) -> Job:
    to_come = [one for one in fittings if one.state == Fitting.State.BOOKED and one.ends_at > now]
    return Job(
        ticket=ticket.number,
        client=ticket.client.name,
        promise_at=ticket.promise_at,
        works=tuple(work_of(line, fittings, to_come) for line in lines),
        fittings=tuple(
            FittingAt(one.starts_at, one.ends_at, one.get_kind_display(), one.pk) for one in to_come
        ),
    )


def work_of(line: Line, fittings: list[Fitting], to_come: list[Fitting]) -> Work:
    """One operation with its place among the fittings and what it waits for."""
    after, waits = _gate(line, fittings, to_come)
    held: Any = line  # with the annotations of ``open_lines``
    if held.waits_for:
        waits = Wait.What(held.waits_for).label
    return Work(
        line=line.pk,
        garment=line.garment.letter,
        name=line.name,
        minutes=median_remaining(line_minutes(line), Ratio(), held.spent or 0),
        order=line.work_order,
        after=after,
        waits=waits,
        expected=held.wait_until,
    )


def _gate(line: Line, fittings: list[Fitting], to_come: list[Fitting]) -> tuple[int, str]:
    """How many fittings to come stand before the work, and what is missing if none can."""
    gate = getattr(line, "gate", None)
    if gate is None and not line.fitting_first:
        return 0, ""
    places = {one.pk: place for place, one in enumerate(to_come, 1)}
    if gate is not None and gate.fitting_id in places:
        return places[gate.fitting_id], ""
    if gate is None and to_come:
        return 1, ""
    last = gate.fitting if gate is not None else (fittings[-1] if fittings else None)
    return 0, _missing(line, last)


def _missing(line: Line, last: Fitting | None) -> str:
    """What a line that no coming fitting holds up still lacks; empty when it can be sewn."""
    if last is None:
        return "A fitting to be booked"
    if last.state in FELL_THROUGH:
        return "A new day for the missed fitting"
    if needs_cut_mark(line) and getattr(line, "cut_mark", None) is None:
        return "The hem to be marked"
    return ""


def needs_cut_mark(line: Line) -> bool:
    """A hem that waits for a fitting is cut only once it was marked in the event shoes."""
    return line.fitting_first and line.work_order == WorkOrder.HEM


def _stretches(rows: Iterable[Fitting | Appointment]) -> tuple[Busy, ...]:
    return tuple(Busy(row.starts_at, row.ends_at) for row in rows)


def own_targets(
    rules: PlanRules, bench: Bench, shop: Shop, own: list[Appointment]
) -> tuple[OwnTarget, ...]:
    """The own hours of each week of the bench: the owner's word, else the usual share.

    The share is of the week's whole bench time, before lost time; two queries.
    """
    first = monday_of(bench.today)
    last = bench.buckets[-1].day
    chosen = dict(OwnWeek.objects.filter(monday__gte=first).values_list("monday", "minutes"))
    spent = own_spent(first)
    mondays = [first + timedelta(weeks=n) for n in range((last - first).days // 7 + 1)]
    return tuple(
        OwnTarget(
            monday=monday,
            minutes=chosen.get(monday, usual_minutes(rules, shop, monday)),
            spent=spent if monday == first else 0,
            placed=sum(
                one.minutes for one in own if monday_of(bench.day_of(one.starts_at)) == monday
            ),
        )
        for monday in mondays
    )


def usual_minutes(rules: PlanRules, shop: Shop, monday: date) -> int:
    """The owner's share of one week's bench hours, rounded down to whole minutes."""
    days = [monday + timedelta(days=ahead) for ahead in range(7)]
    hours = sum(shop.shifts[day.weekday()].minutes for day in days if shop.is_open(day))
    return hours * rules.own_percent // 100


def own_spent(monday: date) -> int:
    """Own minutes already sewn since ``monday``."""
    since = clock.at(monday, datetime.min.time())
    rows = BenchTime.objects.filter(
        purpose=BenchTime.Purpose.OWN, started_at__gte=since, minutes__isnull=False
    )
    return rows.aggregate(total=Sum("minutes"))["total"] or 0
