"""The smallest repairs of an overfull book."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from jobs.planning.core.calendars import Calendar, reach_of
from jobs.planning.core.edf import fits
from jobs.planning.core.overtime import Overtime, overtime
from jobs.planning.core.stages import Book, Stage, prepare
from jobs.planning.core.verdict import Bottleneck, bottleneck


@dataclass(frozen=True)
class Move:
    """Due ``by`` buckets later, the stages of ``ticket`` let every other promise hold.

    ``stages`` are the moved (stage id, new due bucket): from the ticket's first stage in the
    overfull window to its last. Releases stay; a fitting in between is the owner's to move.
    """

    ticket: str
    by: int
    stages: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Repairs:
    """Any one of these makes the book whole; where all lists are empty several are needed.

    ``moves`` are in the order (fewest buckets, ticket). ``handed_away`` lists the tickets without
    which all the others hold.
    """

    bottleneck: Bottleneck
    overtime: Overtime
    moves: tuple[Move, ...]
    handed_away: tuple[str, ...]


def repairs(calendar: Calendar, stages: Iterable[Stage]) -> Repairs | None:
    """Overtime, single moves and single tickets to give up; None if every window can be kept.

    A move is the smallest that works for its ticket alone, found by bisection since a later due
    bucket always fits too. O(n log T (n log n + T)). Raises as `lateness` does.
    """
    book = prepare(stages)
    capacity = reach_of(calendar, book)
    found = bottleneck(capacity, book)
    if found is None:
        return None
    inside = set(found.stages)
    tickets = sorted({stage.ticket for stage in book if stage.id in inside})
    moves, given_up = [], []
    for ticket in tickets:
        if fits(capacity, [stage for stage in book if stage.ticket != ticket]):
            given_up.append(ticket)
            moves += _smallest_move(capacity, book, ticket, inside)
    moves.sort(key=lambda move: (move.by, move.ticket))
    return Repairs(found, overtime(capacity, book), tuple(moves), tuple(given_up))


def _smallest_move(
    capacity: tuple[int, ...], book: Book, ticket: str, inside: set[str]
) -> list[Move]:
    """The one move that repairs the book by this ticket alone, or none."""
    first = min(s.seq for s in book if s.ticket == ticket and s.id in inside)
    end = len(capacity) - 1

    def moved(by: int) -> dict[str, int]:
        return {
            s.id: min(max(s.due, 0) + by, end)
            for s in book
            if s.ticket == ticket and s.seq >= first
        }

    def works(by: int) -> bool:
        dues = moved(by)
        return fits(capacity, [replace(s, due=dues.get(s.id, s.due)) for s in book])

    low, high = 1, len(capacity)
    if not works(high):
        return []
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if works(middle) else (middle + 1, high)
    return [Move(ticket, low, tuple(moved(low).items()))]
