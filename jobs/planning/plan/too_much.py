"""Too much promised: which tickets, which days, by how many minutes, and the smallest repairs.

With it go the promises that cannot be kept whatever is put aside: past ones, and work that starts
too late.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import Enum, auto
from itertools import accumulate

from jobs.planning import core
from jobs.planning.plan.bench import Bench
from jobs.planning.plan.book import Book
from jobs.planning.plan.workload import Job, Work, window


class ClashReason(Enum):
    """What stands between the promise and the work."""

    FITTING = auto()
    NO_TIME = auto()
    EXPECTED = auto()
    WAITING = auto()


@dataclass(frozen=True)
class Clash:
    """Work of a ticket that can start only when it is already due.

    ``day`` is that of the last fitting that is too late, or the day on which what it ``waits`` for
    is expected; None where nobody knows. NO_TIME is work that has no bench time left between its
    last fitting (or now) and the promise.
    """

    job: Job
    why: ClashReason
    promised: date
    day: date | None
    waits: str


@dataclass(frozen=True)
class Overdue:
    """A promise that has passed, with the minutes still to be sewn."""

    job: Job
    promised: date
    minutes: int


def clashes(book: Book) -> list[Clash]:
    """One row a ticket, for the first of its work that clashes, in the order of the book.

    Tickets whose promise is past are `overdue`, not among these.
    """
    bench, rows = book.bench, []
    for job in book.jobs:
        if job.ticket not in book.load.clashes or job.ticket in book.load.overdue:
            continue
        late = (work for work in job.works if _starts_late(job, work, bench))
        work = next(late, None)
        rows.append(_clash(job, work, bench))
    return rows


def overdue(book: Book) -> list[Overdue]:
    """Promises already past, the oldest first."""
    past = [job for job in book.jobs if job.ticket in book.load.overdue]
    return [
        Overdue(job, book.bench.day_of(job.promise_at), job.minutes)
        for job in sorted(past, key=lambda job: (job.promise_at, job.ticket))
    ]


def _starts_late(job: Job, work: Work, bench: Bench) -> bool:
    release, due = window(job, work, bench)
    return release > max(due, 0)


def _clash(job: Job, work: Work | None, bench: Bench) -> Clash:
    promised = bench.day_of(job.promise_at)
    late = [fitting for fitting in job.fittings if fitting.ends > job.promise_at]
    if late:
        return Clash(job, ClashReason.FITTING, promised, bench.day_of(late[-1].starts), "")
    if work is None or not work.waits:
        last = bench.day_of(job.fittings[-1].starts) if job.fittings else None
        return Clash(job, ClashReason.NO_TIME, promised, last, "")
    if work.expected and work.expected > bench.today:
        return Clash(job, ClashReason.EXPECTED, promised, work.expected, work.waits)
    return Clash(job, ClashReason.WAITING, promised, None, work.waits)


@dataclass(frozen=True)
class Repair:
    """Moving this one promise to ``day`` lets all the others hold.

    ``due`` is the bucket by whose end its work is then done.
    """

    job: Job
    day: date
    due: int

    def promise_day(self, book: Book, ready_by: time, is_open: Callable[[date], bool]) -> date:
        """The first open day on which the work is done by the hour of promises."""
        day = self.day
        while not is_open(day) or self._ends_later(book, day, ready_by):
            day += timedelta(days=1)
        return day

    def _ends_later(self, book: Book, day: date, ready_by: time) -> bool:
        return datetime.combine(day, ready_by, book.bench.zone) < book.ends_of(self.due)


@dataclass(frozen=True)
class TicketShare:
    """What of one ticket has to be sewn in the full days: ``minutes``, the last by ``due``.

    With ``fitting`` that is sooner than the promise, because a fitting comes first.
    """

    job: Job
    minutes: int
    due: date
    fitting: bool


@dataclass(frozen=True)
class Overfull:
    """Between ``starts`` and ``ends`` there is more promised than the bench holds.

    ``demand`` is the minutes of all ``shares``; ``excess`` of them are more than ``capacity``.
    ``overtime`` is the least extra bench time by day that keeps every promise. ``moves`` are single
    promises that mend it alone, the nearest day first; there may be none when several windows are
    overfull. Promises already past count as due now.
    """

    starts: date
    ends: date
    demand: int
    capacity: int
    excess: int
    shares: tuple[TicketShare, ...]
    overtime: tuple[tuple[date, int], ...]
    moves: tuple[Repair, ...]

    @property
    def overtime_minutes(self) -> int:
        return sum(minutes for _, minutes in self.overtime)


def overfull(book: Book) -> Overfull | None:
    """None when every promise fits. Raises NoBenchTimeError where there is no bench time at all."""
    book = book.let_loose
    repairs = core.repairs(book.calendar, book.stages)
    if repairs is None:
        return None
    worst = repairs.bottleneck
    by_ticket = {job.ticket: job for job in book.jobs}
    days: dict[date, int] = {}
    for bucket, minutes in repairs.overtime.by_bucket:
        days[book.day_of(bucket)] = days.get(book.day_of(bucket), 0) + minutes
    return Overfull(
        starts=book.day_of(worst.start),
        ends=book.day_of(worst.end),
        demand=worst.demand,
        capacity=worst.capacity,
        excess=worst.excess,
        shares=_shares(book, worst.stages),
        overtime=tuple(sorted(days.items())),
        moves=tuple(
            _repair(book, by_ticket[move.ticket], max(due for _, due in move.stages))
            for move in repairs.moves
        ),
    )


def _shares(book: Book, stages: Iterable[str]) -> tuple[TicketShare, ...]:
    """By ticket, in the order of their numbers."""
    minutes: dict[str, int] = defaultdict(int)
    due: dict[str, int] = defaultdict(int)
    for stage in stages:
        ticket = book.load.job_of[stage].ticket
        minutes[ticket] += book.load.works[stage].minutes
        due[ticket] = max(due[ticket], book.due_of[stage])
    return tuple(
        TicketShare(
            job=job,
            minutes=minutes[job.ticket],
            due=book.day_of(due[job.ticket]),
            fitting=due[job.ticket] < book.bench.last_before(job.promise_at),
        )
        for job in sorted(book.jobs, key=lambda job: job.ticket)
        if job.ticket in minutes
    )


def _repair(book: Book, job: Job, due: int) -> Repair:
    return Repair(job, book.day_of(due), due)


@dataclass(frozen=True)
class Tight:
    """The promise with the least to spare: ``minutes`` that may be lost until it breaks."""

    day: date
    minutes: int
    ticket: str


def tightest(book: Book) -> Tight | None:
    """The tightest window of a book that fits; None where nothing is promised.

    The least C(a,b) - D(a,b) over the windows a..b that hold work. Ties: the earliest day, then
    the longest window. O(R (n + T)) for R moments at which work may start. Raises as `overfull`.
    """
    stages, tight = core.prepare(book.stages), None
    capacity = core.reach_of(book.calendar, stages)
    for release in sorted({stage.release for stage in stages}):
        inside = [stage for stage in stages if stage.release >= release]
        held = list(accumulate(capacity[release:]))
        demand = 0
        for stage in inside:
            demand += stage.processing
            due = core.last_bucket(stage)
            row = (held[due - release] - demand, due, release, stage)
            if tight is None or row[:3] < tight[:3]:
                tight = row
    if tight is None:
        return None
    minutes, due, _, stage = tight
    return Tight(book.day_of(due), minutes, book.load.job_of[stage.id].ticket)
