"""Promises that cannot be kept whatever is put aside: past ones, and work that starts too late."""

from dataclasses import dataclass
from datetime import date
from enum import Enum, auto

from jobs.planning.plan.bench import Bench
from jobs.planning.plan.book import Book
from jobs.planning.plan.workload import Job, Work, window


class Why(Enum):
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
    why: Why
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
        return Clash(job, Why.FITTING, promised, bench.day_of(late[-1].starts), "")
    if work is None or not work.waits:
        last = bench.day_of(job.fittings[-1].starts) if job.fittings else None
        return Clash(job, Why.NO_TIME, promised, last, "")
    if work.expected and work.expected > bench.today:
        return Clash(job, Why.EXPECTED, promised, work.expected, work.waits)
    return Clash(job, Why.WAITING, promised, None, work.waits)
