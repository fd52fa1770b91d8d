"""Promises at risk: each with why, and the one step that mends it."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from enum import Enum, auto

from jobs.planning import core
from jobs.planning.plan.book import Book
from jobs.planning.plan.make_it_fit import last_missed
from jobs.planning.plan.too_much import Clash, ClashReason, clashes, overdue
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
    so many minutes. ``work`` is the operation. MOVE leads to the honest day ``to``, None where none
    is known. Own minutes at risk have no ``job``, but ``own``.
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

    @property
    def waits(self) -> str:
        return self.work.waits if self.work else ""


@dataclass(frozen=True)
class Excess:
    """``minutes`` of client work do not fit by ``day``, the last one that is too full."""

    minutes: int
    day: date


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
