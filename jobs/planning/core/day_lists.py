"""What to work on, bucket by bucket, with the owner's hours in it and no crumbs; and in which order
within a stretch of bench time: with as few changes of ticket as can be.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import combinations

from jobs.planning.core.own_hours import KeptWeek, Weeks, own_plan
from jobs.planning.core.stages import (
    Calendar,
    PlanningError,
    PreparedStages,
    Stage,
    edf,
    last_bucket,
    prepare,
    reach_of,
    settle,
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


MOST_JOINTS = 10
"""Joints up to which every choice is looked at."""


@dataclass(frozen=True, slots=True)
class Piece:
    """``minutes`` of work, to be done by the time that ``due`` minutes of the stretch are worked.

    Pieces of one ``family`` (a ticket) are worked in the order in which they are given, which has
    to be that of their dues.
    """

    id: str
    family: str
    minutes: int
    due: int


def fewest_changes(pieces: Iterable[Piece]) -> list[Piece]:
    """The order with the fewest changes of family of all those that keep every due.

    A run of one family with several dues, begun at s, keeps them if it ends by E = min over its
    pieces of (due + the minutes behind it in the run): to the others it is a single job due at E,
    and jobs that are all there from the start keep their dues in any order if they do in due order
    (Jackson 1955, cited from memory). Splitting a piece never helps: its first part can move back
    to the rest, which makes everything between them earlier. So what is chosen is only at which
    joints between two dues of a family its run goes on, and an order is least if it has most of
    them.

    Exact up to `MOST_JOINTS` joints, by trying the sets of joints from the largest down. Beyond
    that each joint is tried once, the one that moves fewest minutes first: there are then at most
    as many changes too many as joints were refused. Ties: dues, then the order given.
    O(2^j n log n) for j joints at the worst, O(n log n) where all of them go.

    Raises PlanningError if the dues cannot be kept, or a family's do not go up.
    """
    groups = _groups(pieces)
    joints = [(family, place) for family, steps in groups.items() for place in range(1, len(steps))]
    order = _in_order(groups, frozenset())
    if order is None:
        raise PlanningError("These pieces cannot be done by their dues.")
    if len(joints) > MOST_JOINTS:
        return _greedily(groups, joints, order)
    for cut in range(len(joints) + 1):
        for left_out in combinations(joints, cut):
            if (tried := _in_order(groups, frozenset(joints) - set(left_out))) is not None:
                return tried
    return order


Joint = tuple[str, int]
Groups = dict[str, list[list[Piece]]]


def _groups(pieces: Iterable[Piece]) -> Groups:
    """Each family's pieces, those of one due together."""
    groups: Groups = {}
    for piece in pieces:
        steps = groups.setdefault(piece.family, [])
        if steps and steps[-1][0].due > piece.due:
            raise PlanningError(f"Piece {piece.id} is due before the one it comes after.")
        if steps and steps[-1][0].due == piece.due:
            steps[-1].append(piece)
        else:
            steps.append([piece])
    return groups


def _greedily(groups: Groups, joints: Sequence[Joint], order: list[Piece]) -> list[Piece]:
    taken: frozenset[Joint] = frozenset()
    for joint in sorted(joints, key=lambda joint: _minutes(groups[joint[0]][joint[1]])):
        if (tried := _in_order(groups, taken | {joint})) is not None:
            taken, order = taken | {joint}, tried
    return order


def _in_order(groups: Groups, joints: frozenset[Joint]) -> list[Piece] | None:
    """The pieces with these joints closed; None where a due would be missed."""
    runs: list[tuple[int, int, list[Piece]]] = []
    for family, steps in groups.items():
        due = 0
        for place, step in enumerate(steps):
            minutes = _minutes(step)
            if (family, place) in joints:
                due = min(due + minutes, step[0].due)
                runs[-1] = (due, runs[-1][1], [*runs[-1][2], *step])
            else:
                due = step[0].due
                runs.append((due, len(runs), list(step)))
    worked, order = 0, []
    for due, _, run in sorted(runs, key=lambda run: run[:2]):
        worked += _minutes(run)
        if worked > due:
            return None
        order += run
    return order


def _minutes(pieces: Iterable[Piece]) -> int:
    return sum(piece.minutes for piece in pieces)
