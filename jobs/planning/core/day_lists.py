"""What to work on, bucket by bucket, with the owner's hours in it and no crumbs."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from jobs.planning.core.earliest_due_first import edf, settle
from jobs.planning.core.own_hours import KeptWeek, Weeks, own_plan
from jobs.planning.core.stages import (
    Calendar,
    PreparedStages,
    Stage,
    last_bucket,
    prepare,
    reach_of,
)

Day = tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class WeekPlan:
    """``days``: (stage id, minutes) for each bucket; own time carries the ids of `own_plan`.

    ``made`` says for which make an own stage is. ``own`` is what survives of the weeks' own
    minutes, ``free`` the minutes of each bucket that nobody needs. ``capacity`` is the bench time
    of each bucket. ``tight`` lists the pieces (bucket, stage id, minutes) shorter than wanted that
    cannot be avoided without being late: it needs one short session. ``relaxed`` says that the
    book is overfull.
    """

    days: tuple[Day, ...]
    own: tuple[KeptWeek, ...]
    made: dict[str, str]
    capacity: tuple[int, ...]
    free: tuple[int, ...]
    tight: tuple[tuple[int, str, int], ...]
    relaxed: bool


def plan_weeks(
    calendar: Calendar,
    stages: Iterable[Stage],
    weeks: Weeks,
    target: int | Sequence[int],
    min_piece: int = 15,
    *,
    makes: Sequence[Stage] = (),
    days: Sequence[Stage] = (),
) -> WeekPlan:
    """Earliest due first over client stages and the own minutes that survive, in usable pieces.

    No piece is shorter than ``min_piece`` minutes unless the whole stage is: where the first
    stage in due order would be cut shorter, or leave a shorter rest, its piece is made smaller or
    the next stage is taken. Exact planning with such pieces is strongly NP-hard, so this can miss
    a due bucket that minute-by-minute planning keeps; the plain plan is then shown and its short
    pieces are named in ``tight``. Feasible with 2 (min_piece - 1) minutes less in every bucket
    means feasible in pieces.

    Ties: (due, ticket, seq, id), own time last. O(n log n + T) after `own_plan`, which says what
    ``makes`` and ``days`` are, plus the stages passed over. Raises as `own_plan` and `lateness` do.

    Source: restricted preemption, FedCSIS 2011; the reduction is from 3-PARTITION.
    """
    book = prepare(stages)
    reached = len(reach_of(calendar, book))
    weeks_end = max((last for _, last in weeks), default=0)
    capacity = calendar.reach(max(reached - 1, weeks_end))
    longer, settled = settle(capacity, book)
    own = own_plan(longer, settled, weeks, target, makes=makes, days=days)
    both = prepare([*settled, *own.stages])
    lists = chunked(longer, both, min_piece)
    tight: tuple[tuple[int, str, int], ...] = ()
    if lists is None:
        lists = list(edf(longer, both).allocation)
        tight = _short_pieces(lists, both, min_piece)
    worked = [sum(minutes for _, minutes in day) for day in lists]
    return WeekPlan(
        days=tuple(lists),
        own=own.weeks,
        made=own.made,
        capacity=capacity,
        free=tuple(held - used for held, used in zip(capacity, worked, strict=True)),
        tight=tight,
        relaxed=settled is not book,
    )


def week_plan(
    calendar: Calendar,
    stages: Iterable[Stage],
    weeks: Weeks,
    target: int | Sequence[int],
    min_piece: int = 15,
) -> list[list[tuple[str, int]]]:
    """``days`` of `plan_weeks` as lists. Same complexity and errors."""
    return [list(day) for day in plan_weeks(calendar, stages, weeks, target, min_piece).days]


def chunked(capacity: Sequence[int], book: PreparedStages, min_piece: int) -> list[Day] | None:
    """Earliest-due-first in pieces of at least ``min_piece``; None if a window is missed."""
    arriving: list[list[int]] = [[] for _ in capacity]
    for place, stage in enumerate(book):
        arriving[stage.release].append(place)
    bench = _Pieces(book, min_piece)
    days: list[Day] = []
    for room, places in zip(capacity, arriving, strict=True):
        days.append(bench.work(room, places))
        if bench.waiting and last_bucket(book[bench.waiting[0]]) < len(days):
            return None
    return days


class _Pieces:
    """Open work of ``book``, which is in due order, taken up in usable pieces."""

    def __init__(self, book: PreparedStages, min_piece: int) -> None:
        self.book, self.min_piece = book, min_piece
        self.left = [stage.processing for stage in book]
        self.waiting: list[int] = []
        self.small = 0

    def work(self, room: int, arriving: Iterable[int]) -> Day:
        """One bucket's pieces. Nothing overtakes an earlier stage of its own ticket."""
        passed: list[int] = []
        for place in arriving:
            self._wait(place)
        day: list[tuple[str, int]] = []
        behind: set[str] = set()
        while self.waiting and room and (room >= self.min_piece or self.small):
            place = heappop(self.waiting)
            stage = self.book[place]
            self.small -= self.left[place] < self.min_piece
            piece = 0
            if stage.ticket not in behind:
                piece = usable_piece(self.left[place], room, self.min_piece)
            if piece:
                day.append((stage.id, piece))
                room -= piece
                self.left[place] -= piece
            if self.left[place]:
                passed.append(place)
                behind.add(stage.ticket)
        for place in passed:
            self._wait(place)
        return tuple(day)

    def _wait(self, place: int) -> None:
        heappush(self.waiting, place)
        self.small += self.left[place] < self.min_piece


def usable_piece(left: int, room: int, min_piece: int) -> int:
    """Minutes of a stage to work now so that neither piece nor rest is too short; 0 for none."""
    if left <= room:
        return left
    piece = min(room, left - min_piece)
    return piece if piece >= min_piece else 0


def _short_pieces(
    days: Sequence[Day], book: PreparedStages, min_piece: int
) -> tuple[tuple[int, str, int], ...]:
    whole = {stage.id: stage.processing for stage in book}
    return tuple(
        (bucket, stage, minutes)
        for bucket, day in enumerate(days)
        for stage, minutes in day
        if minutes < min(min_piece, whole[stage])
    )
