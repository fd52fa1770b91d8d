"""What lies on a day of the week, in clock order, each thing as long as it takes."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from jobs.planning import core
from jobs.planning.plan.book import Book
from jobs.planning.plan.day_line import Block, Part, day_line
from jobs.planning.plan.workload import Work

MOST = 6
"""Blocks of work that a day shows by themselves; the smallest of more are pooled."""


@dataclass(frozen=True)
class PicturedGarment:
    """A garment to be drawn, or its photograph by its key; ``work`` is what is marked on it."""

    letter: str
    kind: str
    colour: str
    photo: int | None = None
    work: tuple[Work, ...] = ()

    @property
    def name(self) -> str:
        return f"{self.colour} {self.kind}".strip().lower()


@dataclass(frozen=True)
class DayPart:
    """A length of a day.

    ``kind`` is clients, own, releases, fittings, appointments, free, lost (over, and not sewn) or
    over: what is due by this day and does not fit into it. ``starts`` gives its place; what is
    ``pinned`` keeps that hour. Client work has its ticket, its ``work`` with the minutes of each
    piece, and whether the must-do needs it, it is ``put`` on the day, or it comes too ``late``.
    ``small`` are the parts of several tickets that are pooled. Own sewing may be for a ``make``;
    ``crumbs`` is how many pieces lie between the others, where it is too short to be told apart.
    """

    kind: str
    minutes: int
    starts: datetime
    words: str = ""
    ticket: str = ""
    client: str = ""
    promise_at: datetime | None = None
    work: tuple[Part, ...] = ()
    garments: tuple[PicturedGarment, ...] = ()
    small: tuple["DayPart", ...] = ()
    make: int | None = None
    crumbs: int = 0
    must: bool = False
    put: bool = False
    late: bool = False
    done: bool = False
    pinned: bool = False

    @property
    def lines(self) -> tuple[int, ...]:
        """The operations by which it is lifted."""
        return tuple(dict.fromkeys(part.work.line for part in self.work))

    @property
    def says(self) -> str:
        """Which garments, or what is sewn of the only one."""
        works = dict.fromkeys(part.work.name.lower() for part in self.work)
        if not self.garments:
            return self.words or ", ".join(works)
        if len(self.garments) > 2:
            return f"{len(self.garments)} garments"
        names = [garment.name for garment in self.garments]
        return ", ".join([*names, *works] if len(names) == 1 and len(works) < 3 else names)


def planned_parts(book: Book, day: date, needed: frozenset[str] = frozenset()) -> list[DayPart]:
    """What is still to be sewn on a day and for whom, the owner's own, and what is left free.

    ``needed`` is that of the day's must-do. O(n log n) for the day's pieces.
    """
    rows = [row for block in day_line(book, day, needed) for row in _of_block(book, block, day)]
    return pool([*_own_apart(book, day, rows), *_free(book, day)])


def _of_block(book: Book, block: Block, day: date) -> list[DayPart]:
    if block.own:
        make = block.make
        crumbs, words = len(block.crumbs), make.words if make else ""
        pk = make.pk if make else None
        return [DayPart("own", block.minutes, block.starts, words, make=pk, crumbs=crumbs)]
    of_ticket: dict[str, list[Part]] = defaultdict(list)
    for part in block.parts:
        of_ticket[book.load.job_of[part.work.stage].ticket].append(part)
    small = tuple(_of_ticket(book, of_ticket[job.ticket], block, day) for job in block.jobs)
    return [small[0] if len(small) == 1 else pooled(small)]


def _of_ticket(book: Book, parts: Sequence[Part], block: Block, day: date) -> DayPart:
    stages = [part.work.stage for part in parts]
    job = book.load.job_of[stages[0]]
    due = min(book.day_of(book.due_of[stage]) for stage in stages)
    return DayPart(
        "clients",
        sum(part.minutes for part in parts),
        block.starts,
        ticket=job.ticket,
        client=job.client,
        promise_at=job.promise_at,
        work=tuple(parts),
        must=block.must,
        put=all(stage in book.load.on_days for stage in stages),
        late=due < day or job.promise_at <= book.bench.now,
    )


def pooled(small: Sequence[DayPart]) -> DayPart:
    """Several small things as one, in the place of the first."""
    return DayPart(
        "clients",
        sum(part.minutes for part in small),
        min(part.starts for part in small),
        small=tuple(small),
        must=any(part.must for part in small),
        late=any(part.late for part in small),
    )


def pool(parts: Iterable[DayPart], most: int = MOST) -> list[DayPart]:
    """In clock order; the smallest of more than ``most`` blocks of work lie together.

    What the must-do needs and what it does not stay apart.
    """
    rows = sorted(parts, key=lambda part: part.starts)
    too_many = sum(row.kind in {"clients", "own"} for row in rows) - most
    for must in (False, True):
        side = sorted(
            (row for row in rows if row.kind == "clients" and row.must == must), key=_small
        )
        if too_many < 1 or len(side) < 2:
            continue
        small = sorted(side, key=_small)[: too_many + 1]
        together = sorted(small, key=lambda row: row.starts)
        too_many -= len(together) - 1
        one = pooled([part for row in together for part in row.small or (row,)])
        rows = [one if row is together[0] else row for row in rows if row not in together[1:]]
    return rows


def _small(part: DayPart) -> tuple[int, datetime]:
    return part.minutes, part.starts


def _own_apart(book: Book, day: date, rows: list[DayPart]) -> list[DayPart]:
    """Own minutes that were put on the day apart from those that only found room there."""
    sewn = {
        stage: minutes
        for first, last in [(max(0, book.bench.first_of_day(day)), book.bench.last_of_day(day))]
        for stage, minutes in _minutes(book, range(first, last + 1)).items()
    }
    put = {own.pk: sewn.get(own.stage, 0) for own in book.own_days if own.day == day}
    result = []
    for row in rows:
        mine = min(row.minutes, put.get(row.make, 0)) if row.kind == "own" else 0
        if not mine:
            result.append(row)
            continue
        put[row.make] -= mine
        result.append(replace(row, minutes=mine, put=True, crumbs=0))
        if row.minutes > mine:
            result.append(replace(row, minutes=row.minutes - mine))
    return result


def _minutes(book: Book, buckets: Iterable[int]) -> dict[str, int]:
    minutes: dict[str, int] = defaultdict(int)
    for bucket in buckets:
        for stage, worked in book.plan.days[bucket]:
            minutes[stage] += worked
    return minutes


def _free(book: Book, day: date) -> list[DayPart]:
    """What nothing fills of each stretch of bench time, at its end."""
    buckets = book.bench.buckets
    first, last = max(0, book.bench.first_of_day(day)), book.bench.last_of_day(day)
    free: list[DayPart] = []
    left = 0
    for bucket in range(first, last + 1):
        left += buckets[bucket].minutes - sum(worked for _, worked in book.plan.days[bucket])
        goes_on = bucket < last and buckets[bucket].ends == buckets[bucket + 1].starts
        if left > 0 and not goes_on:
            free.append(DayPart("free", left, buckets[bucket].ends))
            left = 0
    return free


def beyond(book: Book) -> dict[date, list[DayPart]]:
    """What is due by a day and does not fit into it and the days before, ticket by ticket.

    The least bench time with which every promise would hold, at the latest days on which it would
    help: so often as the minutes overdue reach a new height. The last of the due order lies beyond.
    Where all fits, nothing. O(n log n).
    """
    if book.idle:
        return {}
    capacity = core.reach_of(book.calendar, book.prepared)
    plan = core.edf(capacity, book.prepared)
    if plan.feasible:
        return {}
    days: dict[date, list[DayPart]] = defaultdict(list)
    most = 0
    for bucket, overdue in enumerate(plan.overdue):
        more, most = overdue - most, max(most, overdue)
        if more <= 0:
            continue
        minutes: dict[str, int] = defaultdict(int)
        for later, place, worked in reversed(plan.pieces):
            if later > bucket and max(0, plan.stages[place].due) <= bucket and more:
                minutes[plan.stages[place].id] += min(worked, more)
                more -= min(worked, more)
        of_ticket: dict[str, list[Part]] = defaultdict(list)
        for stage, worked in reversed(minutes.items()):
            job, work = book.load.job_of[stage], book.load.works[stage]
            of_ticket[job.ticket].append(Part(work, worked))
        for parts in of_ticket.values():
            job = book.load.job_of[parts[0].work.stage]
            days[book.day_of(bucket)].append(
                DayPart(
                    "over",
                    sum(part.minutes for part in parts),
                    book.ends_of(bucket),
                    ticket=job.ticket,
                    client=job.client,
                    promise_at=job.promise_at,
                    work=tuple(parts),
                    late=True,
                )
            )
    return days
