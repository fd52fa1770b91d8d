"""What the owner asks of the week, answered from the book. Texts are made in templates."""

from dataclasses import dataclass, replace
from datetime import date, datetime

from jobs.planning import core
from jobs.planning.plan.book import Book
from jobs.planning.plan.workload import Job, OwnDay, PlannedMake, Work


@dataclass(frozen=True)
class MustDoBy:
    """At least ``minutes`` of client work by the end of ``until``, and why.

    ``demand`` minutes are due by ``binding`` and only ``later`` are left after ``until``.
    ``free`` is what the must-do leaves of the bench time until then. ``needed`` are the ids of the
    stages it consists of.
    """

    until: date
    minutes: int
    capacity: int
    free: int
    demand: int
    later: int
    binding: date | None
    overfull: bool
    needed: frozenset[str] = frozenset()


def must_do(book: Book, until: date) -> MustDoBy:
    """The least client work up to and including ``until``."""
    by = max(0, book.bench.last_of_day(until))
    least = core.must_do(book.capacity, book.prepared, by)
    return MustDoBy(
        until=until,
        minutes=least.minutes,
        capacity=least.capacity,
        free=least.free,
        demand=least.demand,
        later=least.later_capacity,
        binding=None if least.binding_due is None else book.day_of(least.binding_due),
        overfull=least.relaxed,
        needed=frozenset(stage for bucket in least.plan for stage, _ in bucket),
    )


@dataclass(frozen=True)
class Sitting:
    """A piece of work at the bench: ``minutes`` of it from ``starts`` on.

    ``due`` is when the work has to be done; ``latest`` the last moment to take it up, with all
    that is due no later behind it, where it is due on the same day (else None). ``must`` says that
    the day's must-do cannot be met without it.
    """

    work: Work
    job: Job
    minutes: int
    starts: datetime
    due: datetime
    latest: datetime | None
    must: bool


def sittings(book: Book, day: date, needed: frozenset[str] | None = None) -> list[Sitting]:
    """The day's client work in clock order. Waiting work is never in it.

    Work comes in due order, as the core's week plan places it beside the own hours. ``needed`` is
    that of the day's must-do, where it is at hand.
    """
    if needed is None:
        needed = must_do(book, day).needed
    rows = [
        _sitting(book, bucket, stage, minutes, done, must=stage in needed)
        for bucket, stage, minutes, done in _pieces(book, day)
        if stage in book.load.works
    ]
    return _with_latest(book, rows)


def own_sittings(book: Book, day: date) -> list[tuple[datetime, int, PlannedMake | OwnDay | None]]:
    """When the plan leaves the bench to the owner: the starts, and minutes from then on.

    With the make they are for, where one is planned like a promise.
    """
    return [
        (stretch.starts + stretch.clock(done), minutes, book.make_of(stage))
        for bucket, stage, minutes, done in _pieces(book, day)
        for stretch in [book.bench.buckets[bucket]]
        if stage.startswith(core.OWN)
    ]


def _pieces(book: Book, day: date) -> list[tuple[int, str, int, int]]:
    """(bucket, stage, minutes, minutes sewn before it in the bucket), own time included.

    Where one bucket runs into the next and the work goes on, that is one piece.
    """
    first, last = max(0, book.bench.first_of_day(day)), book.bench.last_of_day(day)
    buckets = book.bench.buckets
    rows: list[tuple[int, str, int, int]] = []
    for bucket in range(first, last + 1):
        done = 0
        for stage, minutes in book.plan.days[bucket]:
            goes_on = (
                bucket > first and not done and buckets[bucket - 1].ends == buckets[bucket].starts
            )
            if goes_on and rows and rows[-1][1] == stage:
                begun, _, before, offset = rows.pop()
                rows.append((begun, stage, before + minutes, offset))
            else:
                rows.append((bucket, stage, minutes, done))
            done += minutes
    return rows


def _sitting(
    book: Book, bucket: int, stage: str, minutes: int, done: int, *, must: bool
) -> Sitting:
    stretch, due = book.bench.buckets[bucket], book.due_of[stage]
    work = book.load.works[stage]
    return Sitting(
        work=work,
        job=book.load.job_of[stage],
        minutes=minutes,
        starts=stretch.starts + stretch.clock(done),
        due=book.ends_of(due),
        latest=None,
        must=must,
    )


def _with_latest(book: Book, rows: list[Sitting]) -> list[Sitting]:
    """Latest starts, from the last piece of the day backwards."""
    after: datetime | None = None
    result = []
    for row in reversed(rows):
        if book.bench.day_of(row.due) > book.bench.day_of(row.starts):
            result.append(row)
            continue
        by = row.due if after is None else min(row.due, after)
        after = book.bench.latest_start(by, row.minutes)
        result.append(replace(row, latest=after))
    return result[::-1]
