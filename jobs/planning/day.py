"""Today on one sheet: what happens when, what must leave the bench, and who is waited for."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import takewhile

from jobs.planning.models import Appointment, Fitting, Wait
from jobs.planning.open_work import LineRow, OpenTicket
from jobs.planning.plan.days import MustDoBy, Sitting, must_do, own_sittings, sittings
from jobs.planning.plan.too_much import Clash, clashes
from jobs.planning.plan.workload import PlannedMake
from jobs.planning.reading import Reading
from jobs.planning.records import TimeRow, UnderWay, is_forgotten
from jobs.tickets.models import State
from studio.shop import clock
from studio.shop.models import User

GUESSES = (5, 10, 15, 20, 30, 45, 60)
"""Minutes offered for work that was done without the clock."""


@dataclass(frozen=True)
class Entry:
    """One line of the day. It is client work, or a fitting, or an appointment, or own sewing.

    ``make`` is what own sewing is for, where that has a day. ``asks`` marks a fitting that is over
    and still has to be called kept or missed; ``urgent`` work that has to be started now.
    """

    starts: datetime
    minutes: int
    sitting: Sitting | None = None
    fitting: Fitting | None = None
    ticket: OpenTicket | None = None
    appointment: Appointment | None = None
    make: PlannedMake | None = None
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
class Leaving:
    """A ticket that is promised: how much of it is still to be sewn, and what of it waits."""

    ticket: OpenTicket
    minutes: int = 0
    operations: int = 0
    waits: bool = False


@dataclass(frozen=True)
class Waiting:
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
class Running:
    """The clock that runs."""

    time: TimeRow
    minutes: int
    forgotten: bool


@dataclass(frozen=True)
class DaySheet:
    """All of it. ``bench`` is the minutes left today, ``open`` whether today is a working day.

    ``ready`` begins with what was promised by today. ``untimed`` are operations done today of
    which nobody wrote down the minutes, with their tickets; ``under_way`` the makes that are.
    """

    day: date
    now: datetime
    open: bool
    bench: int
    due: MustDoBy
    entries: list[Entry]
    leaving: list[Leaving]
    overdue: list[Leaving]
    waiting: list[Waiting]
    ready: list[OpenTicket]
    clashes: list[Clash]
    untimed: list[tuple[LineRow, OpenTicket]]
    under_way: list[UnderWay]
    running: Running | None


def day_sheet(reading: Reading, by: User) -> DaySheet:
    """Today as ``by`` sees it: the running clock is each person's own."""
    book, today = reading.book, reading.book.bench.today
    due = must_do(book, today)
    promised = _promised(reading)
    return DaySheet(
        day=today,
        now=book.bench.now,
        open=reading.shop.is_open(today),
        bench=book.bench.minutes_on(today),
        due=due,
        entries=_entries(reading, due),
        leaving=[row for row in promised if row.ticket.promise_at > book.bench.now],
        overdue=[row for row in promised if row.ticket.promise_at <= book.bench.now],
        waiting=_waiting(reading),
        ready=_ready(reading),
        clashes=clashes(book),
        untimed=_untimed(reading),
        under_way=reading.under_way,
        running=_running(reading, by),
    )


def _entries(reading: Reading, due: MustDoBy) -> list[Entry]:
    """In clock order; what has to be called kept or missed is first, whatever day it was."""
    book, now = reading.book, reading.book.bench.now
    rows = [
        Entry(
            one.starts,
            one.minutes,
            sitting=one,
            urgent=one.latest is not None and one.latest <= now,
        )
        for one in sittings(book, due.until, due.needed)
    ]
    rows += [
        Entry(starts, minutes, make=make) for starts, minutes, make in own_sittings(book, due.until)
    ]
    rows += [
        Entry(
            one.starts_at,
            one.minutes,
            fitting=one,
            ticket=reading.ticket_of[one.ticket_id],
            asks=asks,
        )
        for one in reading.fittings
        for asks in [one.state == Fitting.State.BOOKED and one.ends_at <= now]
        if asks or (_is_on(reading, one.starts_at) and one.state != Fitting.State.MISSED)
    ]
    rows += [
        Entry(one.starts_at, one.minutes, appointment=one)
        for one in reading.appointments
        if _is_on(reading, one.starts_at)
    ]
    return sorted(rows, key=lambda row: row.starts)


def _is_on(reading: Reading, moment: datetime) -> bool:
    return reading.book.bench.day_of(moment) == reading.book.bench.today


def _promised(reading: Reading) -> list[Leaving]:
    """Tickets at the bench that were promised for today or before, in due order."""
    jobs = {job.ticket: job for job in reading.book.jobs}
    tomorrow = clock.at(reading.book.bench.today + timedelta(days=1), time.min)
    rows = []
    for ticket in takewhile(lambda one: one.promise_at < tomorrow, reading.tickets):
        if ticket.at_the_bench:
            works = jobs[ticket.number].works if ticket.number in jobs else ()
            minutes = sum(work.minutes for work in works)
            rows.append(Leaving(ticket, minutes, len(works), any(work.waits for work in works)))
    return rows


def _waiting(reading: Reading) -> list[Waiting]:
    """What has waited longest is first; the work behind it waits with it and is not named."""
    bench = reading.book.bench

    def days(since: datetime | None) -> int:
        return (bench.today - bench.day_of(since)).days if since else 0

    rows = [
        Waiting(
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
        for job in reading.book.jobs
        for work in job.works
        if work.waits
    ]
    rows += [
        Waiting(
            ticket=ticket.number,
            client=ticket.client,
            promise_at=ticket.promise_at,
            operation=f"{line.garment} {line.name}",
            what=Wait.What(line.wait or "").label,
            question=line.question or "",
            since=line.since,
            expected=line.wait_until,
            days=days(line.since),
        )
        for line in reading.held
        for ticket in [reading.ticket_of[line.ticket]]
    ]
    return sorted(rows, key=lambda row: (-row.days, row.promise_at, row.ticket))


def _ready(reading: Reading) -> list[OpenTicket]:
    """Who may come for it today: those promised last are first, those of later days behind."""
    bench = reading.book.bench
    ready = [one for one in reading.tickets if one.state == State.READY]
    by_today = [one for one in ready if bench.day_of(one.promise_at) <= bench.today]
    return [*reversed(by_today), *(one for one in ready if one not in by_today)]


def _untimed(reading: Reading) -> list[tuple[LineRow, OpenTicket]]:
    still_running = {one.line for one in reading.times if one.minutes is None}
    return [
        (line, reading.ticket_of[line.ticket])
        for line in reading.finished
        if line.spent is None and line.pk not in still_running
    ]


def _running(reading: Reading, by: User) -> Running | None:
    now = reading.book.bench.now
    mine = (one for one in reading.times if one.minutes is None and one.by == by.pk)
    running = next(mine, None)
    if running is None:
        return None
    gone = max(timedelta(), now - running.started_at)
    return Running(running, gone // timedelta(minutes=1), is_forgotten(running.started_at, now))
