"""A day as a line of time: whose work lies where, each ticket in one piece as far as that can be.

The plan says how much of everything is sewn in each stretch of bench time that no appointment cuts.
Inside a stretch the order is free as long as all is done by the time it is due, and so no latest
start is missed: of these orders the one with the fewest changes of ticket is taken
(`core.fewest_changes`).

Below it stands what a day of the week's page shows: the same as lengths, and what is left free.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import accumulate, groupby
from typing import Any, NamedTuple

from jobs.planning import core
from jobs.planning.plan.book import Book
from jobs.planning.plan.workload import Job, OwnDay, PlannedMake, Work

SMALL = 15
"""Client minutes of a ticket in a stretch below which it is pooled with others as small."""
CRUMB = 30
"""Own minutes in a stretch below which they are told with the day's other crumbs, at its end."""
POOLED = "~small"


class Part(NamedTuple):
    """So many minutes of an operation."""

    work: Work
    minutes: int


@dataclass(frozen=True)
class Block:
    """A length of the day: the work of one ticket, several small ones pooled, or own sewing.

    ``jobs`` are the tickets, one but for small ones, none for own sewing; ``parts`` what is sewn of
    them, in working order. ``due`` is when the first of it has to be done; ``latest`` the last
    moment to take the block up, with all that is behind it today, where something of it is due
    today. ``must`` says that the day's must-do cannot be met without it, ``put`` that the owner put
    it on this day. Own sewing may be for a ``make``; ``crumbs`` are the moments and minutes of own
    time that is too short to be told where it lies.
    """

    starts: datetime
    minutes: int
    jobs: tuple[Job, ...] = ()
    parts: tuple[Part, ...] = ()
    due: datetime | None = None
    latest: datetime | None = None
    must: bool = False
    put: bool = False
    make: PlannedMake | OwnDay | None = None
    crumbs: tuple[tuple[datetime, int], ...] = ()

    @property
    def own(self) -> bool:
        return not self.jobs

    @property
    def stages(self) -> frozenset[str]:
        """The ids of its stages, by which it can be lifted."""
        return frozenset(part.work.stage for part in self.parts)


def day_line(book: Book, day: date, needed: frozenset[str] = frozenset()) -> list[Block]:
    """The day's sewing in clock order, own crumbs at its end. ``needed`` is that of its must-do.

    O(n log n) for the day's pieces, see `core.fewest_changes`.
    """
    line = [row for stretch in _stretches(book, day) for row in _laid_out(book, stretch)]
    blocks: list[Block] = []
    crumbs: list[tuple[datetime, int]] = []
    latest = _latest_starts(book, day, line)
    for _, rows in groupby(zip(line, latest, strict=True), key=lambda row: row[0].run):
        run = list(rows)
        starts, minutes = run[0][0].starts, sum(row.minutes for row, _ in run)
        if run[0][0].stage.startswith(core.OWN):
            if minutes < CRUMB:
                crumbs.append((starts, minutes))
            else:
                blocks.append(Block(starts, minutes, make=book.make_of(run[0][0].stage)))
            continue
        blocks.append(_client_block(book, [row for row, _ in run], run[0][1], needed))
    if crumbs:
        blocks.append(
            Block(crumbs[-1][0], sum(length for _, length in crumbs), crumbs=tuple(crumbs))
        )
    return blocks


class _Row(NamedTuple):
    """Minutes of a stage from a moment on, in one of the day's runs."""

    run: tuple[int, int]
    stage: str
    starts: datetime
    minutes: int


def _stretches(book: Book, day: date) -> Iterator[list[int]]:
    """The day's buckets, those that run into each other together."""
    buckets = book.bench.buckets
    first, last = max(0, book.bench.first_of_day(day)), book.bench.last_of_day(day)
    stretch: list[int] = []
    for bucket in range(first, last + 1):
        if stretch and buckets[bucket - 1].ends != buckets[bucket].starts:
            yield stretch
            stretch = []
        stretch.append(bucket)
    if stretch:
        yield stretch


def _laid_out(book: Book, stretch: Sequence[int]) -> list[_Row]:
    """The pieces of one stretch in their order, from its beginning on."""
    rows: list[_Row] = []
    buckets = [book.bench.buckets[bucket] for bucket in stretch]
    place, done = 0, 0
    runs = groupby(core.fewest_changes(pieces_of(book, stretch)), key=lambda piece: piece.family)
    for number, (_, run) in enumerate(runs):
        for piece in run:
            left = piece.minutes
            while left:
                if not (room := buckets[place].minutes - done):
                    place, done = place + 1, 0
                    continue
                sewn = min(left, room)
                starts = buckets[place].starts + buckets[place].clock(done)
                if rows and rows[-1].stage == piece.id:
                    rows[-1] = rows[-1]._replace(minutes=rows[-1].minutes + sewn)
                else:
                    rows.append(_Row((stretch[0], number), piece.id, starts, sewn))
                left, done = left - sewn, done + sewn
    return rows


def pieces_of(book: Book, stretch: Sequence[int]) -> list[core.Piece]:
    """What the plan has in the stretch, clients first, each with the minutes until it is due.

    Work that is late already, or that the plan finishes late, is due when the plan has it done.
    """
    held = list(accumulate(book.capacity[bucket] for bucket in stretch))
    minutes: dict[str, int] = defaultdict(int)
    ends: dict[str, int] = {}
    for place, bucket in enumerate(stretch):
        for stage, worked in book.plan.days[bucket]:
            minutes[stage] += worked
            ends[stage] = held[place]
    clients = [stage for stage in minutes if stage in book.load.works]
    of_ticket: dict[str, int] = defaultdict(int)
    for stage in clients:
        of_ticket[book.load.job_of[stage].ticket] += minutes[stage]
    small = {ticket for ticket, length in of_ticket.items() if length < SMALL}
    first: dict[str, int] = {}
    for stage in sorted(clients, key=book.due_of.__getitem__, reverse=True):
        first[book.load.job_of[stage].ticket] = book.due_of[stage]
    rows = []
    for stage in clients:
        ticket, work = book.load.job_of[stage].ticket, book.load.works[stage]
        family = POOLED if len(small) > 1 and ticket in small else ticket
        # What is not due inside the stretch comes behind all that is, and own time last.
        due = held[-1] + 1
        if (last := book.due_of[stage]) <= stretch[-1]:
            due = max(ends[stage], held[last - stretch[0]] if last >= stretch[0] else 0)
        step = (work.garment, work.after, work.order, work.line)
        rows.append((due, first[ticket], ticket, *step, family))
    # Whose ticket is due sooner comes sooner, where nothing asks for another order; then the order
    # of work on a garment, with no jumping between the garments.
    rows.sort()
    pieces = [
        core.Piece(f"line-{line}", family, minutes[f"line-{line}"], due)
        for due, *_, line, family in rows
    ]
    own = [stage for stage in minutes if stage not in book.load.works]
    pieces += [
        core.Piece(stage, _own_family(book, stage), minutes[stage], held[-1] + 2) for stage in own
    ]
    return pieces


def _own_family(book: Book, stage: str) -> str:
    make = book.make_of(stage)
    return f"{core.OWN} {make.pk if make else ''}"


def _latest_starts(book: Book, day: date, line: Sequence[_Row]) -> list[datetime | None]:
    """The last moment to take up each row of a run that has something due today, else None.

    Behind it are the rows of such runs alone: all others can wait.
    """

    def due(row: _Row) -> datetime | None:
        if row.stage not in book.load.works:
            return None
        moment = book.ends_of(book.due_of[row.stage])
        return moment if book.bench.day_of(moment) <= day else None

    urgent = {row.run for row in line if due(row)}
    after: datetime | None = None
    latest: list[datetime | None] = []
    for row in reversed(line):
        if row.run not in urgent:
            latest.append(None)
            continue
        by = [moment for moment in (due(row), after) if moment]
        after = book.bench.latest_start(min(by), row.minutes) if by else None
        latest.append(after)
    return latest[::-1]


def _client_block(
    book: Book, rows: Iterable[_Row], latest: datetime | None, needed: frozenset[str]
) -> Block:
    rows = list(rows)
    jobs = {book.load.job_of[row.stage].ticket: book.load.job_of[row.stage] for row in rows}
    return Block(
        starts=rows[0].starts,
        minutes=sum(row.minutes for row in rows),
        jobs=tuple(jobs.values()),
        parts=tuple(Part(book.load.works[row.stage], row.minutes) for row in rows),
        due=min(book.ends_of(book.due_of[row.stage]) for row in rows),
        latest=latest,
        must=any(row.stage in needed for row in rows),
        put=all(row.stage in book.load.on_days for row in rows),
    )


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
    ``small`` are the parts of several tickets that are pooled. Own sewing may be for a ``make``, or
    an ``appointment`` like others;
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
    appointment: int | None = None
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

    def fields(self, day: date) -> dict[str, Any]:
        """What an address carries by which it is lifted from ``day``."""
        if self.kind == "own":
            return own_fields(day, self.minutes, self.make, put=self.put)
        return {"lines": ",".join(map(str, self.lines))}

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


def own_fields(day: date, minutes: int, make: int | None, *, put: bool) -> dict[str, Any]:
    """By which own minutes of a day are lifted: those for a make, or ``put`` there, are told."""
    fields = {"own": day.isoformat(), "minutes": minutes}
    return fields | ({"make": make} if make else {}) | ({"put": "on"} if put else {})


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
