"""Too much promised: the fewest tickets to move so that all the others hold."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate

from jobs.planning.core.stages import PreparedStages, Stage, edf, keeps, last_bucket, ready
from jobs.planning.core.too_much import bottleneck

EFFORT = 400_000
"""Stages and buckets that are planned with before the search gives up looking for fewer."""


@dataclass(frozen=True)
class FewestMoved:
    """Without ``tickets`` all the other windows hold; ``minutes`` is what they weigh.

    ``least`` says that no smaller set does, and none of that size with fewer minutes; otherwise it
    is one from which no ticket can be left out.
    """

    tickets: tuple[str, ...]
    minutes: int
    least: bool


def fewest_moved(
    capacity: Sequence[int], stages: Sequence[Stage], movable: Mapping[str, int]
) -> FewestMoved | None:
    """A smallest set of the ``movable`` tickets without which every window is kept, or None.

    ``movable`` says what each ticket weighs in minutes; of the smallest sets the lightest is taken,
    of these the first by the tickets' names. A ticket is taken out whole.

    In an overfull window some ticket has to go: the search branches over those in the worst one,
    for sets of one, two, three ... tickets, and cuts where even the largest left cannot make up for
    the excess. Only work due by the last overdue bucket can matter, so only that is looked at.
    Exact within `EFFORT`, else the set that the greedy rule finds: the ticket with the most minutes
    in the worst window, until all holds; then whichever can be left out is.
    Where all could start now and every ticket is one stage, the number is that of Moore 1968. With
    releases it is NP-hard in general, so that some limit there has to be.

    None where even without all movable tickets the windows do not hold. Raises as `edf` does.
    """
    book = ready(capacity, stages)
    overdue = edf(capacity, book).overdue
    last = max((bucket for bucket, minutes in enumerate(overdue) if minutes), default=-1)
    near = PreparedStages([stage for stage in book if last_bucket(stage) <= last])
    search = _Search(capacity[: last + 1], near, movable)
    if not search.holds(frozenset(movable)):
        return None
    greedy = search.greedy()
    best = search.smallest(len(greedy))
    found = best if best is not None else greedy
    return FewestMoved(tuple(sorted(found)), search.weight(found), search.effort >= 0)


class _Search:
    def __init__(
        self, capacity: Sequence[int], book: PreparedStages, movable: Mapping[str, int]
    ) -> None:
        self.capacity, self.book, self.movable = capacity, book, movable
        self.effort = EFFORT

    def without(self, gone: frozenset[str]) -> PreparedStages:
        return PreparedStages([stage for stage in self.book if stage.ticket not in gone])

    def holds(self, gone: frozenset[str]) -> bool:
        return keeps(self.capacity, self.without(gone))

    def weight(self, gone: frozenset[str]) -> int:
        return sum(self.movable[ticket] for ticket in gone)

    def worst(self, gone: frozenset[str]) -> tuple[int, dict[str, int]] | None:
        """The excess of the worst window, and what each movable ticket has in it."""
        left = self.without(gone)
        self.effort -= len(left) + len(self.capacity)
        window = bottleneck(self.capacity, left)
        if window is None:
            return None
        inside, minutes = set(window.stages), dict[str, int]()
        for stage in left:
            if stage.id in inside and stage.ticket in self.movable:
                minutes[stage.ticket] = minutes.get(stage.ticket, 0) + stage.processing
        return window.excess, minutes

    def greedy(self) -> frozenset[str]:
        gone: frozenset[str] = frozenset()
        while window := self.worst(gone):
            minutes = window[1]
            gone |= {min(minutes, key=lambda ticket: (-minutes[ticket], ticket))}
        for ticket in sorted(gone, key=lambda ticket: (-self.movable[ticket], ticket)):
            if self.holds(gone - {ticket}):
                gone -= {ticket}
        return gone

    def smallest(self, most: int) -> frozenset[str] | None:
        """The best set of at most so many tickets; None if the effort is spent before."""
        for size in range(most + 1):
            self.best: frozenset[str] | None = None
            self._branch(frozenset(), frozenset(), size)
            if self.best is not None or self.effort < 0:
                return self.best
        return None

    def _branch(self, gone: frozenset[str], stays: frozenset[str], left: int) -> None:
        """All sets of ``left`` more tickets, none of those that ``stays``."""
        if self.effort < 0:
            return
        window = self.worst(gone)
        if window is None:
            rank = self.weight(gone), sorted(gone)
            if self.best is None or rank < (self.weight(self.best), sorted(self.best)):
                self.best = gone
            return
        excess, minutes = window
        choices = sorted(minutes.keys() - stays, key=lambda ticket: (-minutes[ticket], ticket))
        held = list(accumulate(minutes[ticket] for ticket in choices[:left]))
        if not held or held[-1] < excess:
            return
        for ticket in choices:
            if self.best is None or self.weight(gone | {ticket}) <= self.weight(self.best):
                self._branch(gone | {ticket}, stays, left - 1)
            stays |= {ticket}
