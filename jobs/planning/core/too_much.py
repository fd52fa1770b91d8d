"""A book that may hold too much: which window is overfull, who is late, and what repairs it."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from itertools import accumulate

from jobs.planning.core.earliest_due_first import edf, fill, fits, ready
from jobs.planning.core.stages import (
    Calendar,
    PlanningError,
    PreparedStages,
    Stage,
    agreeable,
    last_bucket,
    prepare,
    reach_of,
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


@dataclass(frozen=True)
class Overtime:
    """``minutes`` more keep every window if worked ``by_bucket``: (bucket, minutes) by date.

    ``demand`` is all the work of the book and ``on_time`` the part that fits without overtime.
    """

    minutes: int
    by_bucket: tuple[tuple[int, int], ...]
    demand: int
    on_time: int


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
    total, least = sum(stage.processing for stage in book), sum(missed.values())
    return Overtime(least, tuple(sorted(missed.items())), total, total - least)


def least_overtime(capacity: Sequence[int], stages: Iterable[Stage]) -> int:
    """Minutes of `overtime`. 0 exactly if every window can be kept."""
    return overtime(capacity, stages).minutes


@dataclass(frozen=True)
class SingleMove:
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
    moves: tuple[SingleMove, ...]
    handed_away: tuple[str, ...]


def repairs(calendar: Calendar, stages: Iterable[Stage]) -> Repairs | None:
    """Overtime, single moves and single tickets to give up; None if every window can be kept.

    A move is the smallest that works for its ticket alone, found by bisection since a later due
    bucket always fits too. O(n log T (n log n + T)). Raises as `lateness` does.
    """
    book = prepare(stages)
    capacity = reach_of(calendar, book)
    worst = bottleneck(capacity, book)
    if worst is None:
        return None
    inside = set(worst.stages)
    tickets = sorted({stage.ticket for stage in book if stage.id in inside})
    moves, given_up = [], []
    for ticket in tickets:
        if fits(capacity, [stage for stage in book if stage.ticket != ticket]):
            given_up.append(ticket)
            moves += _smallest_move(capacity, book, ticket, inside)
    moves.sort(key=lambda move: (move.by, move.ticket))
    return Repairs(worst, overtime(capacity, book), tuple(moves), tuple(given_up))


def _smallest_move(
    capacity: tuple[int, ...], book: PreparedStages, ticket: str, inside: set[str]
) -> list[SingleMove]:
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
    return [SingleMove(ticket, low, tuple(moved(low).items()))]
