"""Earliest due first (EDF): the one plan from which every other answer is read, and what it spares.

The loop below every plan lets stages in due order take the earliest minutes left. A fixed order of
rank makes that the same as working, in every bucket, on the first-ranked open stage. Full buckets
are skipped through a union-find list (``root``), so that a book of n stages takes
O((n + T) log T) at the most, and n + T steps as a rule.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate, islice
from operator import sub

from jobs.planning.core.stages import (
    IN_ORDER,
    HorizonError,
    PlanningError,
    PreparedStages,
    Stage,
    last_bucket,
    prepare,
)

Pieces = list[tuple[int, int, int]]
"""(bucket, place in the book, minutes), stage by stage."""


def fill(
    capacity: Sequence[int],
    book: Sequence[Stage],
    minutes: Sequence[int] | None = None,
    *,
    drop_late: bool = False,
) -> tuple[Pieces, list[tuple[int, int]]]:
    """The pieces of the plan, and what found no room as (place, minutes).

    ``minutes`` replaces the stages' own; with ``drop_late`` nothing is worked after its due
    bucket. Stages have to be in due order, released before the capacity ends.
    """
    left, root = list(capacity), list(range(len(capacity) + 1))
    pieces: Pieces = []
    missed: list[tuple[int, int]] = []
    for place, stage in enumerate(book):
        need = stage.processing if minutes is None else minutes[place]
        stop = max(stage.due, 0) if drop_late else len(left) - 1
        bucket = stage.release
        while need:
            while (beyond := root[bucket]) != bucket:
                root[bucket] = bucket = root[beyond]
            if bucket > stop:
                missed.append((place, need))
                break
            room = left[bucket]
            if room > need:
                left[bucket] = room - need
                pieces.append((bucket, place, need))
                break
            root[bucket] = bucket + 1
            if room:
                pieces.append((bucket, place, room))
                need -= room
    return pieces, missed


def keeps(capacity: Sequence[int], book: PreparedStages) -> bool:
    """Whether all windows fit: `fill` without a record, for the question that is asked most."""
    left, root = list(capacity), list(range(len(capacity) + 1))
    for stage in book:
        need, bucket, stop = stage.processing, stage.release, stage.due
        while need:
            while (beyond := root[bucket]) != bucket:
                root[bucket] = bucket = root[beyond]
            if bucket > stop and bucket:
                return False
            room = left[bucket]
            if room > need:
                left[bucket] = room - need
                break
            root[bucket] = bucket = bucket + 1
            need -= room
    return True


@dataclass(frozen=True)
class Plan:
    """What earliest-due-first does with a book. All minutes are whole.

    ``pieces`` are (bucket, place in ``stages``, minutes), stage by stage; ``stages`` are in due
    order. There are at most n + T - 1 pieces (stages plus buckets).
    """

    capacity: tuple[int, ...]
    stages: tuple[Stage, ...]
    pieces: tuple[tuple[int, int, int], ...]

    @property
    def feasible(self) -> bool:
        """Whether every stage is finished inside its window (a past due bucket counts as now)."""
        return not any(self.overdue)

    @cached_property
    def allocation(self) -> tuple[tuple[tuple[str, int], ...], ...]:
        """For each bucket the (stage id, minutes) worked in it, in working order."""
        days: list[list[tuple[str, int]]] = [[] for _ in self.capacity]
        for bucket, place, minutes in self.pieces:
            days[bucket].append((self.stages[place].id, minutes))
        return tuple(tuple(day) for day in days)

    @cached_property
    def unfinished(self) -> dict[str, int]:
        """Minutes that the capacity given has no room for, by stage id; mostly empty."""
        left = [stage.processing for stage in self.stages]
        for _, place, minutes in self.pieces:
            left[place] -= minutes
        return {s.id: rest for s, rest in zip(self.stages, left, strict=True) if rest}

    @cached_property
    def completion(self) -> dict[str, int | None]:
        """Bucket in which each stage is finished; None for `unfinished` ones."""
        last: dict[str, int | None] = {}
        for bucket, place, _ in self.pieces:
            last[self.stages[place].id] = bucket
        return last | dict.fromkeys(self.unfinished)

    @cached_property
    def overdue(self) -> tuple[int, ...]:
        """Minutes due in or before each bucket that are still open at its end.

        Equals max(0, max over a of D(a, b) - C(a, b)) for each bucket b: demand of the windows
        inside a..b minus capacity of a..b.
        """
        steps = [0] * (len(self.capacity) + 1)
        for bucket, place, minutes in self.pieces:
            due = self.stages[place].due
            if bucket > due and bucket:
                steps[max(due, 0)] += minutes
                steps[bucket] -= minutes
        if self.unfinished:
            for stage in self.stages:
                steps[last_bucket(stage)] += self.unfinished.get(stage.id, 0)
        return tuple(accumulate(steps[:-1]))


def edf(capacity: Sequence[int], stages: Iterable[Stage]) -> Plan:
    """Work, in every bucket, on the open released stage with the smallest (due, ticket, seq, id).

    Preemptive earliest-due-first keeps every window whenever any plan does, minimises the
    maximum lateness, and respects the order of stages within a ticket (their windows being
    agreeable, see `prepare`). Worked on past its due bucket, a stage keeps its rank.

    Complexity: O(n log n + T).

    Raises
    ------
    HorizonError
        If a stage is due after the last bucket given.
    PlanningError
        For negative capacity, and whatever `prepare` refuses.

    Notes
    -----
    W. A. Horn, "Some simple scheduling algorithms", Naval Research Logistics Quarterly 21
    (1974), 177-185. The interval form of `Plan.overdue` is the processor demand criterion of
    S. K. Baruah, L. E. Rosier, R. R. Howell, Real-Time Systems 2 (1990), 301-324.
    """
    book = ready(capacity, stages)
    return Plan(tuple(capacity), tuple(book), tuple(fill(capacity, book)[0]))


def ready(capacity: Sequence[int], stages: Iterable[Stage]) -> PreparedStages:
    """The prepared book, checked against the capacity. Raises as `edf` does."""
    book = prepare(stages)
    if book and last_bucket(book[-1]) >= len(capacity):
        raise HorizonError(f"Stage {book[-1].id}", book[-1].due, len(capacity))
    if min(capacity, default=0) < 0:
        raise PlanningError("A bucket cannot hold fewer than 0 minutes.")
    return book


def fits(capacity: Sequence[int], stages: Iterable[Stage]) -> bool:
    """Whether every window can be kept. O(n log n + T). Raises as `edf` does."""
    return keeps(capacity, ready(capacity, stages))


def settle(
    capacity: Sequence[int], stages: Iterable[Stage]
) -> tuple[Sequence[int], PreparedStages]:
    """A book whose windows can all be kept: late stages are due when the plan finishes them.

    A feasible book and its capacity come back as they are. Otherwise each late stage gets the
    bucket in which earliest-due-first finishes it; what the capacity has no room for is given
    one more bucket of just that size. O(n log n + T). Raises as `edf` does.
    """
    book = ready(capacity, stages)
    if keeps(capacity, book):
        return capacity, book
    pieces, missed = fill(capacity, book)
    ends = {place: bucket for bucket, place, _ in pieces}
    ends |= {place: len(capacity) for place, _ in missed}
    moved = [replace(s, due=max(s.due, ends[place])) for place, s in enumerate(book)]
    more = [sum(rest for _, rest in missed)] if missed else []
    return [*capacity, *more], PreparedStages(sorted(moved, key=IN_ORDER))


def spare(capacity: Sequence[int], stages: Iterable[Stage], release: int = 0) -> list[int]:
    """Largest extra job, in minutes, that fits into ``release`` to d, for every bucket d.

    S(d) = min over b >= d of C(release, b) - R(b), where R(b) is the work due in or before b
    that is still open when earliest-due-first comes to ``release``, or arrives later. It never
    falls with d, so the earliest date for p minutes is the first d with S(d) >= p. 0 before
    ``release``. An overfull book is settled first (late stages are due when the plan finishes
    them), so that a newcomer delays nobody further. O(n log n + T).

    Source: processor demand criterion, Baruah, Rosier, Howell 1990. Raises IndexError if
    ``release`` is not a bucket of ``capacity``; else as `edf` does.
    """
    free = free_until(*settle(capacity, stages), release)
    return ([0] * release + list(accumulate(reversed(free), min))[::-1])[: len(capacity)]


def free_until(capacity: Sequence[int], book: PreparedStages, release: int) -> list[int]:
    """C(release, b) - R(b) for every b from ``release`` on, the book's windows being known to fit.

    `spare` is the least of these from its date on. O(n + T).
    """
    if not 0 <= release < len(capacity):
        raise IndexError(f"Bucket {release} is not among the {len(capacity)} given.")
    due = [0] * len(capacity)
    for stage, minutes in zip(book, open_at(capacity, book, release), strict=True):
        if stage.due > 0:
            due[stage.due] += minutes
        else:
            due[0] += minutes
    demand = islice(accumulate(due), release, None)
    return list(map(sub, accumulate(capacity[release:]), demand))


def open_at(capacity: Sequence[int], book: PreparedStages, release: int) -> list[int]:
    """Minutes of each stage still open when earliest-due-first comes to bucket ``release``."""
    left = [stage.processing for stage in book]
    if release:
        before = [place for place, stage in enumerate(book) if stage.release < release]
        pieces, _ = fill(capacity[:release], [book[place] for place in before])
        for _, place, minutes in pieces:
            left[before[place]] -= minutes
    return left
