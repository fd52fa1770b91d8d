"""A book that may hold too much: which window is overfull, who is late, what overtime mends it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jobs.planning.core.stages import (
    Calendar,
    Stage,
    agreeable,
    edf,
    fill,
    last_bucket,
    prepare,
    reach_of,
    ready,
)


@dataclass(frozen=True)
class Bottleneck:
    """The worst window: in ``start`` to ``end`` there is less bench time than was promised.

    ``demand`` is the minutes of ``stages``, all of which have to be worked inside the window;
    ``capacity`` is its bench minutes; ``excess`` is the difference, above 0.
    """

    start: int
    end: int
    stages: tuple[str, ...]
    demand: int
    capacity: int
    excess: int


def lateness(calendar: Calendar, stages: Iterable[Stage]) -> dict[str, int]:
    """Buckets between due and finish under earliest-due-first, by stage id; early is negative.

    Due means the due bucket that agrees with the ticket's later stages (see `prepare`). A stage
    without minutes is finished with the stage before it in its ticket; with none before it, it
    is finished at its release and never late. O(n log n + T).

    The largest lateness of stages with minutes is the smallest that any plan can have: shifting all
    due buckets by one number keeps the due order (Horn 1974; with chains Baker, Lawler, Lenstra,
    Rinnooy Kan 1983).

    Raises NoBenchTimeError if the calendar never holds the work, and whatever `edf` raises.
    """
    rows = list(stages)
    book = prepare(rows)
    plan = edf(reach_of(calendar, book), book)
    ends = {plan.stages[place].id: bucket for bucket, place, _ in plan.pieces}
    result = {stage.id: ends[stage.id] - stage.due for stage in book}
    if len(rows) > len(book):
        result |= _without_minutes(rows, book, ends)
    return result


def _without_minutes(
    rows: list[Stage], book: Sequence[Stage], ends: dict[str, int]
) -> dict[str, int]:
    result = {}
    for stage in agreeable(rows):
        if not stage.processing:
            before = [s for s in book if s.ticket == stage.ticket and s.seq < stage.seq]
            done = max((ends[s.id] for s in before), default=min(stage.release, stage.due))
            result[stage.id] = max(done, stage.release if before else done) - stage.due
    return result


def bottleneck(capacity: Sequence[int], stages: Iterable[Stage]) -> Bottleneck | None:
    """The window whose demand exceeds its capacity most, or None if all windows can be kept.

    A window a..b counts the stages released in or after a and due in or before b; past due
    buckets count as now. Ties: the earliest end, then the shortest window. O(n log n + T).
    Source: processor demand criterion, Baruah, Rosier, Howell 1990; the worst end is where the
    overdue minutes of earliest-due-first peak. Raises as `edf` does.
    """
    plan = edf(capacity, stages)
    excess = max(plan.overdue, default=0)
    if not excess:
        return None
    end = plan.overdue.index(excess)
    start = _start_of(plan.capacity, plan.stages, end, excess)
    inside = [s for s in plan.stages if s.release >= start and last_bucket(s) <= end]
    held = sum(plan.capacity[start : end + 1])
    ids = tuple(stage.id for stage in inside)
    return Bottleneck(start, end, ids, held + excess, held, excess)


def _start_of(capacity: Sequence[int], stages: Iterable[Stage], end: int, excess: int) -> int:
    """The latest start of a window up to ``end`` that is overfull by ``excess`` minutes."""
    released = [0] * (end + 1)
    for stage in stages:
        if last_bucket(stage) <= end:
            released[stage.release] += stage.processing
    over = 0
    for start in range(end, -1, -1):
        over += released[start] - capacity[start]
        if over == excess:
            break
    return start


@dataclass(frozen=True)
class Overtime:
    """``minutes`` more keep every window if worked ``by_bucket``: (bucket, minutes) by date."""

    minutes: int
    by_bucket: tuple[tuple[int, int], ...]


def overtime(capacity: Sequence[int], stages: Iterable[Stage]) -> Overtime:
    """The least extra minutes that keep every window, on the due buckets where they are missed.

    Earliest-due-first that lets work go once its due bucket has passed does the most minutes on
    time, as a maximum flow would. Adding the minutes let go to those due buckets is a complete
    repair, and no smaller one exists. Past due buckets count as now. O(n log n + T).

    Source: F. Glover, "Maximum matching in a convex bipartite graph", Naval Research Logistics
    Quarterly 14 (1967), 313-316; preemptive total late work, C. N. Potts, L. N. Van Wassenhove,
    Operations Research 40 (1992). Raises as `edf` does.
    """
    book = ready(capacity, stages)
    missed: dict[int, int] = {}
    for place, minutes in fill(capacity, book, drop_late=True)[1]:
        due = last_bucket(book[place])
        missed[due] = missed.get(due, 0) + minutes
    return Overtime(sum(missed.values()), tuple(sorted(missed.items())))


def least_overtime(capacity: Sequence[int], stages: Iterable[Stage]) -> int:
    """Minutes of `overtime`. 0 exactly if every window can be kept."""
    return overtime(capacity, stages).minutes
