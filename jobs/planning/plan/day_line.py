"""A day as a line of time: whose work lies where, each ticket in one piece as far as that can be.

The plan says how much of everything is sewn in each stretch of bench time that no appointment cuts.
Inside a stretch the order is free as long as all is done by the time it is due, and so no latest
start is missed: of these orders the one with the fewest changes of ticket is taken
(`core.fewest_changes`).
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import accumulate, groupby
from typing import NamedTuple

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
