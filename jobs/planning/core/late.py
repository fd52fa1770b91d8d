"""Which promises break, when not all can be kept."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from heapq import heappop, heappush
from itertools import accumulate

from jobs.planning.core.calendars import Calendar, reach_of
from jobs.planning.core.edf import fits, ready
from jobs.planning.core.errors import PlanningError
from jobs.planning.core.stages import Book, Stage, last_bucket, prepare
from jobs.planning.core.verdict import max_lateness


def late_report(calendar: Calendar, stages: Iterable[Stage]) -> dict[str, int]:
    """Buckets by which each late stage is late when as few as easily found are; {} if none.

    The maximum lateness stays the smallest possible. Then, in due order, each stage gets the
    smallest lateness that the choices before it allow while all later ones may still use the
    maximum. Never longer than the list of earliest-due-first itself. It is a greedy rescue: the
    fewest late stages under that maximum is strongly NP-hard (K. Heeger, D. Hermelin, M. Pinedo,
    D. Shabtay, arXiv 2404.02784, 2024).

    Ties: (due, ticket, seq, id). Complexity: O(n log L (n log n + T)) for maximum lateness L.
    Raises as `lateness` does.
    """
    book = prepare(stages)
    worst = max(max_lateness(calendar, book), 0)
    if not worst:
        return {}
    capacity = reach_of(calendar, book)
    dues = [stage.due + worst for stage in book]
    reached: dict[str, int] = {}
    for place, stage in enumerate(book):
        low = max(0, reached.get(stage.ticket, stage.due) - stage.due)
        dues[place] = stage.due + _smallest(capacity, book, dues, place, (low, worst))
        reached[stage.ticket] = max(dues[place], reached.get(stage.ticket, dues[place]))
    late = {stage.id: due - stage.due for stage, due in zip(book, dues, strict=True)}
    return {stage: buckets for stage, buckets in late.items() if buckets}


def _smallest(
    capacity: Sequence[int], book: Book, dues: Sequence[int], place: int, bounds: tuple[int, int]
) -> int:
    """Smallest lateness within ``bounds`` for one stage, the others' due buckets given."""
    low, high = bounds
    due = book[place].due
    tried = low
    while low < high:
        if fits(capacity, _moved(book, [*dues[:place], due + tried, *dues[place + 1 :]])):
            high = tried
        else:
            low = tried + 1
        tried = (low + high) // 2
    return low


def _moved(book: Book, dues: Sequence[int]) -> list[Stage]:
    return [replace(stage, due=due) for stage, due in zip(book, dues, strict=True)]


def fewest_late(capacity: Sequence[int], stages: Iterable[Stage]) -> list[str]:
    """The ids of a smallest set of stages to finish late, all of them workable now.

    Moore-Hodgson: take the stages in due order; whenever they no longer fit, give up the longest
    taken so far. Ties: of equally long ones the one first in due order is given up.
    O(n log n + T).

    Source: J. M. Moore, "An n job, one machine sequencing algorithm for minimizing the number of
    late jobs", Management Science 15 (1968), 102-109 (cited from memory).

    Raises
    ------
    PlanningError
        If a stage is released later than now, or a ticket has several stages: the rule is then
        wrong, and the first case is NP-hard or needs O(n^4). Whatever `edf` raises.
    """
    book = ready(capacity, stages)
    if any(stage.release for stage in book) or len({s.ticket for s in book}) < len(book):
        raise PlanningError("The fewest late promises are known only for single stages due now.")
    held = list(accumulate(capacity))
    taken: list[tuple[int, int, str]] = []
    total, late = 0, []
    for place, stage in enumerate(book):
        heappush(taken, (-stage.processing, place, stage.id))
        total += stage.processing
        if total > held[last_bucket(stage)]:
            longest, _, given_up = heappop(taken)
            total += longest
            late.append(given_up)
    return late
