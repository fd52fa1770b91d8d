"""Which promises break, when not all can be kept."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from heapq import heappop, heappush
from itertools import accumulate

from jobs.planning.core.calendars import Calendar, reach_of
from jobs.planning.core.edf import fits, ready
from jobs.planning.core.errors import PlanningError
from jobs.planning.core.stages import Stage, last_bucket, prepare
from jobs.planning.core.verdict import max_lateness


def late_report(calendar: Calendar, stages: Iterable[Stage]) -> dict[str, int]:
    """Buckets by which each late stage is late when as few as easily found are; {} if none.

    The maximum lateness stays the smallest possible. Then, in due order, each stage gets the
    smallest lateness that the choices before it allow while all later ones may still use the
    maximum. Never longer than the list of earliest-due-first itself. It is a greedy rescue: the
    fewest late stages under that maximum is strongly NP-hard (K. Heeger, D. Hermelin, M. Pinedo,
    D. Shabtay, arXiv 2404.02784, 2024).

    Ties: (due, ticket, seq, id). Complexity: O(k log(n L) (n log n + T)) for k late stages and
    maximum lateness L. Raises as `lateness` does.
    """
    book = prepare(stages)
    worst = max(max_lateness(calendar, book), 0)
    if not worst:
        return {}
    capacity = calendar.reach(max(len(reach_of(calendar, book)) - 1, book[-1].due + worst))
    late = [worst] * len(book)
    least = [max(0, -stage.due) for stage in book]

    place = 0

    def fit(tried: Sequence[int]) -> bool:
        moved = [replace(s, due=s.due + by) for s, by in zip(book, tried, strict=True)]
        return fits(capacity, moved)

    def on_time(end: int) -> bool:
        return fit([*late[:place], *least[place:end], *late[end:]])

    def late_by(buckets: int) -> bool:
        return fit([*late[:place], buckets, *late[place + 1 :]])

    while place < len(book):
        # As many as possible are settled at once: on time together means on time one by one.
        end = _last(range(place, len(book) + 1), on_time)
        late[place:end] = least[place:end]
        place = end
        if place < len(book):
            late[place] = _last(range(worst, least[place], -1), late_by)
            place += 1
    return {stage.id: by for stage, by in zip(book, late, strict=True) if by}


def _last(tries: Sequence[int], works: Callable[[int], bool]) -> int:
    """The last of ``tries`` that works; the first one does, and none after one that does not."""
    if works(tries[-1]):
        return tries[-1]
    low, high = 0, len(tries) - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if works(tries[middle]) else (low, middle)
    return tries[low]


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
