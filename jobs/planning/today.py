"""Today on one sheet: what happens when, what must leave the bench, and who is waited for."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import takewhile

from jobs.planning.models import Appointment, is_forgotten
from jobs.planning.plan.days import MustDoBy, Sitting, must_do, own_sittings, sittings
from jobs.planning.plan.too_much import Clash, clashes
from jobs.planning.plan.workload import FittingRow, LineRow, OpenTicket, OwnDay, PlannedMake
from jobs.planning.queries import MakeUnderWay, StudioWeek, TimeRow
from studio.shop import clock
from studio.shop.models import User


@dataclass(frozen=True)
class DayEntry:
    """One line of the day. It is client work, or a fitting, or an appointment, or own sewing.

    ``make`` is what own sewing is for, where that has a day. ``asks`` marks a fitting whose hour
    has come and that still has to be called kept or missed; ``urgent`` work that has to be started
    now.
    """

    starts: datetime
    minutes: int
    sitting: Sitting | None = None
    fitting: FittingRow | None = None
    ticket: OpenTicket | None = None
    appointment: Appointment | None = None
    make: PlannedMake | OwnDay | None = None
    asks: bool = False
    urgent: bool = False

    @property
    def kind(self) -> str:
        if self.sitting:
            return "work"
        if self.fitting:
            return "fitting"
        if self.appointment and self.appointment.kind == Appointment.Kind.OTHER:
            return "appointment"
        return "own"

    @property
    def loose(self) -> bool:
        """Own sewing that the plan found room for, as against hours put on the day."""
        return self.kind == "own" and self.appointment is None


@dataclass(frozen=True)
class PromisedTicket:
    """A ticket that is promised: how much of it is still to be sewn, and what of it waits."""

    ticket: OpenTicket
    minutes: int = 0
    operations: int = 0
    waits: bool = False


@dataclass(frozen=True)
class WaitingWork:
    """An operation that waits: for ``what``, since when, and for how many whole days."""

    ticket: str
    client: str
    promise_at: datetime
    operation: str
    what: str
    question: str
    since: datetime | None
    expected: date | None
    days: int


@dataclass(frozen=True)
class RunningClock:
    """The clock that runs."""

    time: TimeRow
    minutes: int
    forgotten: bool


@dataclass(frozen=True)
class DaySheet:
    """All of it. ``bench`` is the minutes left today, ``open`` whether today is a working day.

    ``ready`` begins with what was promised by today. ``unmeasured`` are operations that nobody has
    measured yet, ``untimed`` those done today of which nobody wrote down the minutes, each with its
    ticket; ``under_way`` the makes that are.
    """

    day: date
    now: datetime
    open: bool
    bench: int
    due: MustDoBy
    entries: list[DayEntry]
    leaving: list[PromisedTicket]
    overdue: list[PromisedTicket]
    waiting: list[WaitingWork]
    ready: list[OpenTicket]
    clashes: list[Clash]
    unmeasured: list[tuple[LineRow, OpenTicket]]
    untimed: list[tuple[LineRow, OpenTicket]]
    under_way: list[MakeUnderWay]
    running: RunningClock | None


def day_sheet(week: StudioWeek, by: User) -> DaySheet:
    """Today as ``by`` sees it: the running clock is each person's own."""
    book, today = week.book, week.book.bench.today
    due = must_do(book, today)
    promised = _promised(week)
    return DaySheet(
        day=today,
        now=book.bench.now,
        open=week.hours.is_open(today),
        bench=book.bench.minutes_on(today),
        due=due,
        entries=_entries(week, due),
        leaving=[row for row in promised if row.ticket.promise_at > book.bench.now],
        overdue=[row for row in promised if row.ticket.promise_at <= book.bench.now],
        waiting=_waiting(week),
        ready=_ready(week),
        clashes=clashes(book),
        unmeasured=_unmeasured(week),
        untimed=_untimed(week),
        under_way=week.under_way,
        running=_running(week, by),
    )


def _entries(week: StudioWeek, due: MustDoBy) -> list[DayEntry]:
    """In clock order; what has to be called kept or missed is first, whatever day it was."""
    book, now = week.book, week.book.bench.now
    rows = [
        DayEntry(
            sitting.starts,
            sitting.minutes,
            sitting=sitting,
            urgent=sitting.latest is not None and sitting.latest <= now,
        )
        for sitting in sittings(book, due.until, due.needed)
    ]
    rows += [
        DayEntry(starts, minutes, make=make)
        for starts, minutes, make in own_sittings(book, due.until)
    ]
    rows += [
        DayEntry(
            fitting.starts,
            fitting.minutes,
            fitting=fitting,
            ticket=week.ticket_of[fitting.ticket],
            asks=asks,
        )
        for fitting in week.fittings
        for asks in [fitting.booked and fitting.starts <= now]
        if asks or (_is_today(week, fitting.starts) and not fitting.fell_through)
    ]
    rows += [
        DayEntry(appointment.starts_at, appointment.minutes, appointment=appointment)
        for appointment in week.appointments
        if _is_today(week, appointment.starts_at)
    ]
    return sorted(rows, key=lambda row: row.starts)


def _is_today(week: StudioWeek, moment: datetime) -> bool:
    return week.book.bench.day_of(moment) == week.book.bench.today


def _promised(week: StudioWeek) -> list[PromisedTicket]:
    """Tickets at the bench that were promised for today or before, in due order."""
    jobs = {job.ticket: job for job in week.book.jobs}
    tomorrow = clock.at(week.book.bench.today + timedelta(days=1), time.min)
    rows = []
    for ticket in takewhile(lambda ticket: ticket.promise_at < tomorrow, week.tickets):
        if ticket.at_the_bench:
            works = jobs[ticket.number].works if ticket.number in jobs else ()
            minutes = sum(work.minutes for work in works)
            rows.append(
                PromisedTicket(ticket, minutes, len(works), any(work.waits for work in works))
            )
    return rows


def _waiting(week: StudioWeek) -> list[WaitingWork]:
    """What has waited longest is first; the work behind it waits with it and is not named."""
    bench = week.book.bench

    def days(since: datetime | None) -> int:
        return (bench.today - bench.day_of(since)).days if since else 0

    rows = [
        WaitingWork(
            ticket=job.ticket,
            client=job.client,
            promise_at=job.promise_at,
            operation=f"{work.garment} {work.name}",
            what=work.waits,
            question=work.question,
            since=work.since,
            expected=work.expected,
            days=days(work.since),
        )
        for job in week.book.jobs
        for work in job.works
        if work.waits
    ]
    return sorted(rows, key=lambda row: (-row.days, row.promise_at, row.ticket))


def _ready(week: StudioWeek) -> list[OpenTicket]:
    """Who may come for it today: those promised last are first, those of later days behind."""
    bench = week.book.bench
    ready = [ticket for ticket in week.tickets if ticket.ready]
    by_today = [ticket for ticket in ready if bench.day_of(ticket.promise_at) <= bench.today]
    return [*reversed(by_today), *(ticket for ticket in ready if ticket not in by_today)]


def _unmeasured(week: StudioWeek) -> list[tuple[LineRow, OpenTicket]]:
    """What was promised first is first."""
    rows = [(line, week.ticket_of[line.ticket]) for line in week.unmeasured]
    return sorted(rows, key=lambda row: (row[1].promise_at, row[1].number))


def _untimed(week: StudioWeek) -> list[tuple[LineRow, OpenTicket]]:
    still_running = {time.line for time in week.times if time.minutes is None}
    return [
        (line, week.ticket_of[line.ticket])
        for line in week.finished
        if line.spent is None and line.pk not in still_running
    ]


def _running(week: StudioWeek, by: User) -> RunningClock | None:
    now = week.book.bench.now
    mine = (time for time in week.times if time.minutes is None and time.by == by.pk)
    running = next(mine, None)
    if running is None:
        return None
    gone = max(timedelta(), now - running.started_at)
    return RunningClock(
        running, gone // timedelta(minutes=1), is_forgotten(running.started_at, now)
    )
