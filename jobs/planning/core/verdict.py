"""Can every promise be kept? If not: by how much is which window overfull?"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jobs.planning.core.calendars import Calendar, reach_of
from jobs.planning.core.edf import edf
from jobs.planning.core.stages import Stage, agreeable, last_bucket, prepare


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


def max_lateness(calendar: Calendar, stages: Iterable[Stage]) -> int:
    """The smallest maximum lateness of any plan, in buckets; 0 for a book without work.

    Negative if every stage with minutes can be finished early. O(n log n + T).
    Optimality: shifting all due buckets by one number keeps the due order (Horn 1974; with
    chains Baker, Lawler, Lenstra, Rinnooy Kan 1983). Raises as `lateness` does.
    """
    book = prepare(stages)
    plan = edf(reach_of(calendar, book), book)
    return max((bucket - plan.stages[place].due for bucket, place, _ in plan.pieces), default=0)


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
