"""Too much promised: which tickets, which days, by how many minutes, and the smallest repairs."""

from dataclasses import dataclass
from datetime import date

from jobs.planning import core
from jobs.planning.book import Book
from jobs.planning.workload import Job


@dataclass(frozen=True)
class Repair:
    """Moving this one promise to ``day`` lets all the others hold."""

    job: Job
    day: date


@dataclass(frozen=True)
class Overfull:
    """Between ``starts`` and ``ends`` there is more promised than the bench holds.

    ``demand`` minutes of ``jobs`` stand against ``capacity``; ``excess`` is the difference.
    ``overtime`` is the least extra bench time by day that keeps every promise. ``moves`` are single
    promises that mend it alone, the nearest day first; there may be none when several windows are
    overfull. Promises already past count as due now.
    """

    starts: date
    ends: date
    demand: int
    capacity: int
    excess: int
    jobs: tuple[Job, ...]
    overtime: tuple[tuple[date, int], ...]
    moves: tuple[Repair, ...]

    @property
    def overtime_minutes(self) -> int:
        return sum(minutes for _, minutes in self.overtime)


def overfull(book: Book) -> Overfull | None:
    """None when every promise fits."""
    found = core.repairs(book.calendar, book.stages)
    if found is None:
        return None
    worst = found.bottleneck
    inside = {book.load.job_of[stage].ticket: book.load.job_of[stage] for stage in worst.stages}
    by_ticket = {job.ticket: job for job in book.jobs}
    days: dict[date, int] = {}
    for bucket, minutes in found.overtime.by_bucket:
        days[book.day_of(bucket)] = days.get(book.day_of(bucket), 0) + minutes
    return Overfull(
        starts=book.day_of(worst.start),
        ends=book.day_of(worst.end),
        demand=worst.demand,
        capacity=worst.capacity,
        excess=worst.excess,
        jobs=tuple(inside[ticket] for ticket in sorted(inside)),
        overtime=tuple(sorted(days.items())),
        moves=tuple(
            Repair(by_ticket[move.ticket], book.day_of(max(due for _, due in move.stages)))
            for move in found.moves
        ),
    )
