"""The order of work inside one stretch of bench time: as few changes of ticket as can be."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from jobs.planning.core.stages import PlanningError

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
