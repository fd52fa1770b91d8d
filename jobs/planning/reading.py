"""The book of work as the database holds it, in a number of queries that never grows."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import cached_property
from itertools import groupby
from operator import attrgetter
from zoneinfo import ZoneInfo

from jobs.planning.bench_work import BenchWork
from jobs.planning.models import Appointment, BenchTime, Fitting, PlanRules
from jobs.planning.open_work import AT_THE_BENCH, LineRow, OpenTicket, read_tickets, tickets_here
from jobs.planning.plan.bench import MINUTE, Bench, Busy, Shift, lay_out
from jobs.planning.plan.book import GLANCE, Book, OwnTarget, monday_of
from jobs.planning.records import Dates, Taken, TimeRow, UnderWay, read_dates, read_times
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
    operations done today. ``held`` are operations that wait on tickets lumped in the book, where
    they were asked for. ``times`` are the bench times of this week and every running clock;
    ``taken`` are the own hours that tickets took from this week on, ``under_way`` the makes being
    sewn.
    """

    book: Book
    shop: Shop
    rules: PlanRules
    fittings: list[Fitting]
    appointments: list[Appointment]
    tickets: list[OpenTicket] = field(default_factory=list)
    held: list[LineRow] = field(default_factory=list)
    finished: list[LineRow] = field(default_factory=list)
    times: list[TimeRow] = field(default_factory=list)
    taken: tuple[Taken, ...] = ()
    under_way: list[UnderWay] = field(default_factory=list)

    @cached_property
    def ticket_of(self) -> dict[int, OpenTicket]:
        """The tickets by their key."""
        return {one.pk: one for one in self.tickets}


def read_book(
    studio: Profile,
    *,
    without: Ticket | None = None,
    until: date | None = None,
    waiting: bool = False,
) -> Reading:
    """Everything the planner needs, in eight queries.

    ``without`` leaves one ticket's work out, to ask about it anew. With ``until`` the plan names
    the work of the days up to then, and what is promised later may be lumped together (see
    ``nearby``); where that would change an answer, a ninth query reads the rest. The own hours of
    weeks that are not shown then stay out of the book: they take nothing from the weeks before.
    ``waiting`` asks for what waits of the lumped tickets.
    """
    # Whole minutes, so that no page shows the seconds of its own making.
    now, today = clock.now().replace(second=0, microsecond=0), clock.today()
    midnight, monday = clock.at(today, time.min), monday_of(today)
    rules, dates = PlanRules.load(), read_dates(monday)
    shop = Shop(read_shifts(), dates.closed)
    appointments = list(Appointment.objects.filter(starts_at__gte=now - timedelta(days=1)))
    tickets = read_tickets(midnight, soon=(until or today) + timedelta(days=1))
    times = read_times(clock.at(monday, time.min))
    work = BenchWork(*_at_the_bench_or_ready(tickets, without), read_fittings(midnight))
    fittings = [one for one in work.fittings if one.state != Fitting.State.CANCELLED]
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
        cuts=[moment for moment, _ in groupby(one.promise_at for one in work.at_work)],
        lost_percent=rules.lost_percent,
    )
    spent = own_spent(times, clock.at(monday, time.min))
    shown = max(until, monday + timedelta(weeks=GLANCE, days=-1)) if until else date.max
    last = min(shown, bench.buckets[-1].day)
    targets = own_targets(rules, bench, shop, dates, own=own, spent=spent, last=last)
    makes = tuple(make for make in dates.makes if make.day >= today)
    unnamed = _stretches([one for one in own if not one.name])
    book = Book(bench, (), busy, blocks, targets, rules.min_piece, makes=makes, unnamed=unnamed)
    filled = work.until(book, until, waiting=waiting) if until else work.whole(book)
    return Reading(
        book=filled.book,
        shop=shop,
        rules=rules,
        fittings=fittings,
        appointments=appointments,
        tickets=tickets,
        held=filled.held,
        finished=filled.finished,
        times=times,
        taken=dates.taken,
        under_way=list(dates.under_way),
    )


def _at_the_bench_or_ready(
    tickets: list[OpenTicket], without: Ticket | None
) -> tuple[list[OpenTicket], list[OpenTicket]]:
    at_work: list[OpenTicket] = []
    ready: list[OpenTicket] = []
    for one in tickets:
        (at_work if one.state in AT_THE_BENCH else ready).append(one)
    return [one for one in at_work if without is None or one.pk != without.pk], ready


def read_fittings(ready_since: datetime) -> list[Fitting]:
    """The fittings of ``tickets_here`` in order of time, the cancelled ones too."""
    fittings = Fitting.objects.filter(ticket__in=tickets_here(ready_since).values("pk"))
    return sorted(fittings.order_by(), key=attrgetter("starts_at", "pk"))


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
    rules: PlanRules,
    bench: Bench,
    shop: Shop,
    dates: Dates,
    *,
    own: list[Appointment],
    spent: int,
    last: date,
) -> tuple[OwnTarget, ...]:
    """The own hours of each week until ``last``: the owner's word, else the usual share.

    The share is of the week's whole bench time, before lost time. ``own`` are the hours put on
    days, of which those to come count, and ``spent`` the own minutes sewn this week.
    """
    first = monday_of(bench.today)
    placed: dict[date, int] = defaultdict(int)
    for one in own:
        if one.ends_at > bench.now:
            left = (one.ends_at - max(one.starts_at, bench.now)) // MINUTE
            placed[monday_of(bench.day_of(one.starts_at))] += left
    weeks = (last - first).days // 7 + 1
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
