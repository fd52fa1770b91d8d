"""The book of work as the database holds it, in a number of queries that never grows."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from operator import attrgetter
from zoneinfo import ZoneInfo

from jobs.planning.bench import MINUTE, Bench, Busy, Shift, lay_out
from jobs.planning.book import Book, OwnTarget, monday_of
from jobs.planning.jobs import job_of
from jobs.planning.models import Appointment, BenchTime, Fitting, PlanRules
from jobs.planning.nearby import is_enough, lumps, part
from jobs.planning.open_work import LineRow, OpenTicket, read_lines, read_tickets, tickets_here
from jobs.planning.records import Dates, Taken, TimeRow, read_dates, read_times
from jobs.planning.workload import Job
from jobs.tickets.models import Ticket
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
    since = monday_of(clock.today())
    closed = DayOff.objects.filter(day__gte=since).values_list("day", flat=True)
    return Shop(read_shifts(), frozenset(closed))


def read_shifts() -> dict[int, Shift]:
    days = WorkingDay.objects.filter(minutes__gt=0)
    return {day.weekday: Shift(day.starts, day.minutes) for day in days}


@dataclass(frozen=True)
class Reading:
    """The book with what the pages show beside it.

    ``tickets`` are the open ones in due order and those that became ready today, ``finished`` the
    operations done today. ``times`` are the bench times of this week and every running clock;
    ``taken`` are the own hours that tickets took from this week on.
    """

    book: Book
    shop: Shop
    rules: PlanRules
    fittings: list[Fitting]
    appointments: list[Appointment]
    tickets: list[OpenTicket] = field(default_factory=list)
    finished: list[LineRow] = field(default_factory=list)
    times: list[TimeRow] = field(default_factory=list)
    taken: tuple[Taken, ...] = ()


def read_book(
    studio: Profile, *, without: Ticket | None = None, until: date | None = None
) -> Reading:
    """Everything the planner needs, in eight queries.

    ``without`` leaves one ticket's work out, to ask about it anew. With ``until`` the plan names
    the work of the days up to then, and what is promised later may be lumped together (see
    ``nearby``); where that would change an answer, a ninth query reads the rest.
    """
    # Whole minutes, so that no page shows the seconds of its own making.
    now, today = clock.now().replace(second=0, microsecond=0), clock.today()
    midnight, monday = clock.at(today, time.min), monday_of(today)
    rules, dates = PlanRules.load(), read_dates(monday)
    shop = Shop(read_shifts(), dates.closed)
    appointments = list(Appointment.objects.filter(starts_at__gte=now - timedelta(days=1)))
    tickets, times = read_tickets(midnight), read_times(clock.at(monday, time.min))
    fittings = read_fittings(midnight)
    own = [one for one in appointments if one.kind == Appointment.Kind.OWN]
    busy, blocks = _stretches(_taking_time(fittings, appointments)), _stretches(own)
    # The bench ends with a whole week, so that the days after it can follow its pattern.
    days = HORIZON + 6 - (today.weekday() + HORIZON - 1) % 7
    bench = lay_out(
        now,
        days,
        ZoneInfo(studio.time_zone),
        shop.shifts,
        closed=shop.closed,
        busy=[*busy, *blocks],
        cuts=[one.promise_at for one in tickets if one.at_the_bench],
        lost_percent=rules.lost_percent,
    )
    spent = own_spent(times, clock.at(monday, time.min))
    targets = own_targets(rules, bench, shop, dates, own=own, spent=spent)
    empty = Book(bench, (), busy, blocks, targets, rules.min_piece)
    here = [one for one in tickets if without is None or one.pk != without.pk]
    if empty.idle:
        # Without any bench time nothing can be arranged; the pages say so instead.
        here = []
    book, finished = _with_work(empty, here, fittings, until)
    return Reading(book, shop, rules, fittings, appointments, tickets, finished, times, dates.taken)


def _with_work(
    book: Book, tickets: list[OpenTicket], fittings: list[Fitting], until: date | None
) -> tuple[Book, list[LineRow]]:
    """The book with the tickets' open operations, and the operations done today."""
    by_ticket: dict[int, list[Fitting]] = defaultdict(list)
    for fitting in fittings:
        by_ticket[fitting.ticket_id].append(fitting)
    near = [one for one in tickets if one.at_the_bench]
    far: list[OpenTicket] = []
    if until:
        near, far = part(near, by_ticket, book.bench, until)
    off_the_bench = [one.pk for one in tickets if not one.at_the_bench]
    midnight = clock.at(book.bench.today, time.min)
    rows = read_lines([*off_the_bench, *(one.pk for one in near)], done_since=midnight)
    filled = book.with_jobs([*_jobs(near, rows, by_ticket, book.bench.now), *lumps(far)])
    if far and until and not is_enough(filled, until):
        rows += read_lines([one.pk for one in far])
        filled = book.with_jobs(_jobs([*near, *far], rows, by_ticket, book.bench.now))
    return filled, [row for row in rows if row.done_at]


def _jobs(
    tickets: Sequence[OpenTicket],
    rows: Iterable[LineRow],
    fittings: dict[int, list[Fitting]],
    now: datetime,
) -> list[Job]:
    """The tickets with an open operation."""
    lines: dict[int, list[LineRow]] = defaultdict(list)
    for row in rows:
        if not row.done_at:
            lines[row.ticket].append(row)
    return [
        job_of(one, lines[one.pk], fittings.get(one.pk, []), now)
        for one in tickets
        if one.pk in lines
    ]


def read_fittings(ready_since: datetime) -> list[Fitting]:
    """The fittings of ``tickets_here`` in order of time, but for the cancelled ones."""
    fittings = Fitting.objects.filter(ticket__in=tickets_here(ready_since).values("pk"))
    found = fittings.exclude(state=Fitting.State.CANCELLED).order_by()
    return sorted(found, key=attrgetter("starts_at", "pk"))


def _taking_time(
    fittings: list[Fitting], appointments: list[Appointment]
) -> list[Fitting | Appointment]:
    """What the bench rests for, own hours apart."""
    states = {Fitting.State.BOOKED, Fitting.State.KEPT}
    return [
        *(one for one in fittings if one.state in states),
        *(one for one in appointments if one.kind == Appointment.Kind.OTHER),
    ]


def _stretches(rows: Iterable[Fitting | Appointment]) -> tuple[Busy, ...]:
    return tuple(Busy(row.starts_at, row.ends_at) for row in rows)


def own_targets(
    rules: PlanRules, bench: Bench, shop: Shop, dates: Dates, *, own: list[Appointment], spent: int
) -> tuple[OwnTarget, ...]:
    """The own hours of each week of the bench: the owner's word, else the usual share.

    The share is of the week's whole bench time, before lost time. ``own`` are the hours put on
    days, of which those to come count, and ``spent`` the own minutes sewn this week.
    """
    first = monday_of(bench.today)
    placed: dict[date, int] = defaultdict(int)
    for one in own:
        if one.ends_at > bench.now:
            left = (one.ends_at - max(one.starts_at, bench.now)) // MINUTE
            placed[monday_of(bench.day_of(one.starts_at))] += left
    weeks = (bench.buckets[-1].day - first).days // 7 + 1
    return tuple(
        OwnTarget(
            monday=monday,
            minutes=dates.own.get(monday, usual_minutes(rules, shop, monday)),
            spent=spent if monday == first else 0,
            placed=placed[monday],
        )
        for monday in (first + timedelta(weeks=n) for n in range(weeks))
    )


def usual_minutes(rules: PlanRules, shop: Shop, monday: date) -> int:
    """The owner's share of one week's bench hours, rounded down to whole minutes."""
    days = [monday + timedelta(days=ahead) for ahead in range(7)]
    hours = sum(shop.shifts[day.weekday()].minutes for day in days if shop.is_open(day))
    return hours * rules.own_percent // 100


def own_spent(times: Iterable[TimeRow], since: datetime) -> int:
    """Own minutes sewn since then."""
    own = BenchTime.Purpose.OWN
    return sum(row.minutes or 0 for row in times if row.purpose == own and row.started_at >= since)
