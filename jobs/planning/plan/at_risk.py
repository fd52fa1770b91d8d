"""Promises at risk: past ones, work that starts too late, and what there is no room for; each with
why, and the one step that mends it. And the promise with the least to spare.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from enum import Enum, auto
from itertools import accumulate

from jobs.planning import core
from jobs.planning.plan.bench import Bench
from jobs.planning.plan.book import Book
from jobs.planning.plan.workload import (
    TO_BOOK,
    TO_MARK,
    TO_MOVE,
    Job,
    OwnDay,
    Work,
    window,
)

FAR = 366
"""Days after the work is done among which an open one is looked for."""


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


class Mend(Enum):
    """The step that mends a promise at risk."""

    MOVE = auto()
    ASK = auto()
    BOOK = auto()
    NEW_TIME = auto()
    MARK = auto()
    WEEK = auto()


@dataclass(frozen=True)
class Risk:
    """A promise that cannot be kept as planned, or a block that cannot be on its day.

    ``kind`` says why: the promise is ``past``; there is no ``room``, and it will be done on
    ``day``; the ``fitting`` of that day comes after the promise; ``no_time`` is left for the work;
    what it waits for is ``expected`` on that day, or it is ``waiting``, nobody knows until when;
    or a block was put on ``day``: ``day_full`` and so on, by the name of its trouble, ``short`` of
    so many minutes, ``works`` its operations. ``work`` is the operation. MOVE leads to the honest
    day ``to``, None where none is known. Own minutes at risk have no ``job``, but ``own``.
    """

    kind: str
    promised: date
    mend: Mend
    job: Job | None = None
    day: date | None = None
    work: Work | None = None
    to: date | None = None
    short: int = 0
    own: OwnDay | None = None
    works: tuple[Work, ...] = ()

    @property
    def lines(self) -> str:
        """The operations of the block, as an address carries them."""
        return ",".join(str(work.line) for work in self.works)

    @property
    def waits(self) -> str:
        return self.work.waits if self.work else ""


@dataclass(frozen=True)
class Tight:
    """The promise with the least to spare: ``minutes`` that may be lost until it breaks."""

    day: date
    minutes: int
    ticket: str


def tightest(book: Book) -> Tight | None:
    """The tightest window of a book that fits; None where nothing is promised.

    The least C(a,b) - D(a,b) over the windows a..b that hold work. Ties: the earliest day, then
    the longest window. O(R (n + T)) for R moments at which work may start. Raises
    NoBenchTimeError where there is no bench time at all.
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


@dataclass(frozen=True)
class Excess:
    """``minutes`` of client work do not fit by ``day``, the last one that is too full."""

    minutes: int
    day: date


def last_missed(book: Book) -> int | None:
    """The last bucket that lacks time: what is due after it is in nobody's way.

    Nothing due later can leave less over, since all that is lacking is due by then.
    """
    extra = core.overtime(core.reach_of(book.calendar, book.prepared), book.prepared)
    return max((bucket for bucket, minutes in extra.by_bucket if minutes), default=None)


def excess(book: Book) -> Excess | None:
    """The least that has to be added, as `make_it_fit.left_over` has it; None where all fits."""
    book = book.let_loose
    try:
        missed = last_missed(book)
        extra = core.overtime(core.reach_of(book.calendar, book.prepared), book.prepared)
    except core.NoBenchTimeError:
        return None
    return None if missed is None else Excess(extra.minutes, book.day_of(missed))


def promises_at_risk(
    book: Book,
    ready_by: time,
    is_open: Callable[[date], bool],
    most: int,
    *,
    overfull: bool = False,
) -> list[Risk]:
    """What was promised first is first; own minutes last. Each ticket is told once.

    Only the first ``most`` say to which day they could move: O(n log n + T) for each of these.
    ``overfull`` says that not everything fits, so that there is work the plan has done too late.
    """
    rows = [_of_past(row.job, row.promised) for row in overdue(book) if row.job.works]
    rows += [_of_clash(clash) for clash in clashes(book)]
    if overfull:
        told = {row.job.ticket for row in rows if row.job}
        rows += [row for row in _too_late(book) if row.job and row.job.ticket not in told]
    rows += [
        Risk(
            f"day_{risk.why.name.lower()}",
            book.bench.day_of(risk.job.promise_at),
            Mend.WEEK,
            risk.job,
            day=risk.day,
            work=risk.works[0],
            short=risk.short,
            works=risk.works,
        )
        for risk in book.load.at_risk
    ]
    rows.sort(key=lambda row: (row.promised, row.job.ticket if row.job else ""))
    rows += [
        Risk("own", own.day, Mend.WEEK, day=own.day, short=missing, own=own)
        for own, missing in book.own_at_risk
    ]
    moving = [row.job for row in rows[:most] if row.job and row.mend is Mend.MOVE]
    days = honest_days(book, moving, ready_by, is_open)
    return [
        replace(row, to=days.get(row.job.ticket)) if row.job and row.mend is Mend.MOVE else row
        for row in rows
    ]


def _of_past(job: Job, promised: date) -> Risk:
    waiting = next((work for work in job.works if work.waits and not work.expected), None)
    return Risk("past", promised, _mend(waiting), job, work=waiting)


def _of_clash(clash: Clash) -> Risk:
    work = None
    if clash.why in {ClashReason.WAITING, ClashReason.EXPECTED}:
        work = next((work for work in clash.job.works if work.waits == clash.waits), None)
    mend = _mend(work) if clash.why is ClashReason.WAITING else Mend.MOVE
    return Risk(clash.why.name.lower(), clash.promised, mend, clash.job, clash.day, work)


def _too_late(book: Book) -> list[Risk]:
    """Tickets that the plan has done after their promise, earliest due first."""
    try:
        late = core.lateness(book.calendar, book.stages)
    except core.NoBenchTimeError:
        return []
    done: dict[str, int] = {}
    for stage, by in late.items():
        if by > 0:
            ticket = book.load.job_of[stage].ticket
            done[ticket] = max(done.get(ticket, 0), book.due_of[stage] + by)
    return [
        Risk(
            "room", book.bench.day_of(job.promise_at), Mend.MOVE, job, book.day_of(done[job.ticket])
        )
        for job in book.jobs
        if job.ticket in done
    ]


def _mend(waiting: Work | None) -> Mend:
    """What helps work that waits, nobody knows until when."""
    if waiting is None:
        return Mend.MOVE
    gates = {TO_BOOK: Mend.BOOK, TO_MOVE: Mend.NEW_TIME, TO_MARK: Mend.MARK}
    return gates.get(waiting.waits, Mend.ASK)


def honest_days(
    book: Book, jobs: Collection[Job], ready_by: time, is_open: Callable[[date], bool]
) -> dict[str, date | None]:
    """By ticket, the first open day for which its work is done by the hour of promises.

    All other promises and the own hours that survive are kept; each job is asked about by itself.
    None where no bench time is ever found.
    """
    if not jobs or book.idle:
        return dict.fromkeys(job.ticket for job in jobs)
    try:
        own = book.own_stages(core.reach_of(book.calendar, book.stages))
    except core.NoBenchTimeError:
        return dict.fromkeys(job.ticket for job in jobs)
    stages = [*book.stages, *own]
    return {job.ticket: _honest_day(book, stages, job, ready_by, is_open) for job in jobs}


def _honest_day(
    book: Book,
    stages: Collection[core.Stage],
    job: Job,
    ready_by: time,
    is_open: Callable[[date], bool],
) -> date | None:
    """Its work behind the last fitting moves; what comes before a fitting stays where it is."""
    last = [work for work in job.works if work.after >= len(job.fittings)] or list(job.works)
    moved = {work.stage for work in last}
    others = [stage for stage in stages if stage.id not in moved]
    minutes = sum(work.minutes for work in last)
    release = max(max(0, window(job, work, book.bench)[0]) for work in last)
    try:
        due = core.earliest_due(book.calendar, others, minutes, release)
    except (core.NoBenchTimeError, core.NoDayError, core.HorizonError):
        return None
    done = book.ends_of(due)
    days = (book.day_of(due) + timedelta(days=ahead) for ahead in range(FAR))
    for day in days:
        moment = datetime.combine(day, ready_by, book.bench.zone)
        if is_open(day) and moment >= done and moment > book.bench.now:
            return day
    return None
