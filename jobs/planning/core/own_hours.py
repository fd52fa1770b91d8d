"""The hours the owner keeps: planned as jobs, and how many of them survive beside the clients."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from jobs.planning.core.earliest_due_first import settle
from jobs.planning.core.stages import PlanningError, PreparedStages, Stage, last_bucket

Weeks = Sequence[tuple[int, int]]
"""Disjoint stretches of buckets in date order, each (first, last) with both included."""


@dataclass(frozen=True)
class SharedBuckets:
    """Own minutes of each bucket, and the client work (stage id, minutes) beside them."""

    own: tuple[int, ...]
    clients: tuple[tuple[tuple[str, int], ...], ...]


class _Bench:
    """Open client work, bucket by bucket. ``book`` is in due order."""

    def __init__(self, capacity: Sequence[int], book: PreparedStages) -> None:
        self.capacity, self.book = capacity, book
        self.left = [stage.processing for stage in book]
        self.due = [0] * len(capacity)
        self.arriving: list[list[int]] = [[] for _ in capacity]
        for place, stage in enumerate(book):
            self.due[last_bucket(stage)] += stage.processing
            self.arriving[stage.release].append(place)
        self.open = sum(self.left)
        self.waiting: list[int] = []

    def need(self, now: int) -> int:
        """Least client minutes in bucket ``now``, from the work as it stands. O(T)."""
        capacity, due_in, everything = self.capacity, self.due, self.open
        due = need = sum(due_in[: now + 1])
        later = 0
        for bucket in range(now + 1, len(capacity)):
            later += capacity[bucket]
            due += due_in[bucket]
            if due - later > need:
                need = due - later
            elif everything - later <= need:
                break
        return need

    def work(self, now: int, room: int) -> tuple[tuple[str, int], ...]:
        """Up to ``room`` minutes on released stages in due order."""
        for place in self.arriving[now]:
            heappush(self.waiting, place)
        done = []
        while room and self.waiting:
            place = self.waiting[0]
            stage = self.book[place]
            minutes = min(room, self.left[place])
            room -= minutes
            self.left[place] -= minutes
            self.due[last_bucket(stage)] -= minutes
            self.open -= minutes
            done.append((stage.id, minutes))
            if not self.left[place]:
                heappop(self.waiting)
        return tuple(done)


def give_way(
    capacity: Sequence[int], book: PreparedStages, weeks: Weeks, targets: Sequence[int]
) -> SharedBuckets:
    """Own minutes as early as possible up to each week's target, clients in due order.

    In every bucket own time may take what the clients' least need leaves,
    need(t) = max over b >= t of (open work due by b, released or not) - C(t+1, b), found anew
    from the work as it stands. The book's windows have to fit. O(T^2 + n log n).

    Source: J. P. Lehoczky, S. Ramos-Thuel, "An optimal algorithm for scheduling soft-aperiodic
    tasks in fixed-priority preemptive systems", IEEE Real-Time Systems Symposium (1992), for the
    idea (cited from memory); the need is the latest-possible plan of Chetto and Chetto 1989.
    """
    bench = _Bench(capacity, book)
    own: list[int] = []
    clients: list[tuple[tuple[str, int], ...]] = []
    for (first, last), target in zip(weeks, targets, strict=True):
        for now in range(len(own), first):
            own.append(0)
            clients.append(bench.work(now, capacity[now]))
        wanted = target
        for now in range(first, last + 1):
            wants = wanted and capacity[now]
            taken = min(wanted, capacity[now] - bench.need(now)) if wants else 0
            wanted -= taken
            own.append(taken)
            clients.append(bench.work(now, capacity[now] - taken))
    return SharedBuckets(tuple(own), tuple(clients))


def check_weeks(weeks: Weeks, buckets: int) -> None:
    """Raise PlanningError unless the weeks are disjoint, in order and inside the capacity."""
    before = -1
    for first, last in weeks:
        if not before < first <= last < buckets:
            raise PlanningError(f"Week {first} to {last} overlaps, runs backwards or leaves.")
        before = last


OWN = "~own"
"""Ticket of own time. It sorts behind numbers and letters, so that clients come first on ties."""


@dataclass(frozen=True)
class KeptWeek:
    """Of ``target`` own minutes in ``first`` to ``last``, ``kept`` survive and ``lost`` do not.

    ``capacity`` is the bench time of the week. ``by_bucket`` says where the kept minutes lie if
    they are taken as early as they can be.
    """

    first: int
    last: int
    target: int
    kept: int
    lost: int
    capacity: int
    by_bucket: tuple[int, ...]


def share_stages(weeks: Weeks, minutes: int | Sequence[int]) -> list[Stage]:
    """One stage per week whose window is the week, for a week's own ``minutes``.

    With one pair of hands, "at least so many minutes of this week are mine" is exactly one more
    job; a smaller capacity on every day, or a weekly budget for clients, is not. Weeks of no
    minutes are left out. O(number of weeks).

    Raises PlanningError if the weeks overlap, or numbers of weeks and minutes differ.
    """
    check_weeks(weeks, max((last for _, last in weeks), default=0) + 1)
    return [
        Stage(f"{OWN} {first}-{last}", f"{OWN} {first}", 0, target, first, last)
        for (first, last), target in zip(weeks, targets(weeks, minutes), strict=True)
        if target
    ]


def targets(weeks: Weeks, minutes: int | Sequence[int]) -> list[int]:
    """One target per week. Raises PlanningError for negative ones or a wrong number of them."""
    each = [minutes] * len(weeks) if isinstance(minutes, int) else list(minutes)
    if len(each) != len(weeks) or min(each, default=0) < 0:
        raise PlanningError("Each week needs one target of 0 minutes or more.")
    return each


def own_weeks(
    capacity: Sequence[int], stages: Iterable[Stage], weeks: Weeks, target: int | Sequence[int]
) -> list[KeptWeek]:
    """The own minutes that survive in each week when no promise may break, nearest week first.

    Any order of the weeks loses the same smallest total; nearest first fixes the split. Found by
    slack stealing, O(T^2 + n log n). An overfull book is settled first: late stages are due when
    earliest-due-first finishes them.

    Source: the reachable own minutes per week form a polymatroid (contraction of a flow
    polymatroid; A. Federgruen, H. Groenevelt, Management Science 32 (1986), 341-349), over which
    the greedy choice is the best.

    Raises PlanningError if the weeks overlap or leave the capacity; else as `edf` does.
    """
    return settled_own_weeks(capacity, *settle(capacity, stages), weeks, target)


def settled_own_weeks(
    capacity: Sequence[int],
    longer: Sequence[int],
    settled: PreparedStages,
    weeks: Weeks,
    target: int | Sequence[int],
) -> list[KeptWeek]:
    """`own_weeks` for a book that `settle` has been at: ``longer`` and ``settled`` are its answer.

    Same errors, without the complexity of settling.
    """
    check_weeks(weeks, len(capacity))
    wanted = targets(weeks, target)
    own = give_way(longer, settled, weeks, wanted).own
    return [
        KeptWeek(
            first=first,
            last=last,
            target=goal,
            kept=sum(own[first : last + 1]),
            lost=goal - sum(own[first : last + 1]),
            capacity=sum(capacity[first : last + 1]),
            by_bucket=own[first : last + 1],
        )
        for (first, last), goal in zip(weeks, wanted, strict=True)
    ]


def own_minutes(
    capacity: Sequence[int], stages: Iterable[Stage], weeks: Weeks, target: int | Sequence[int]
) -> list[int]:
    """`KeptWeek.kept` of `own_weeks`. Same complexity and errors."""
    return [week.kept for week in own_weeks(capacity, stages, weeks, target)]
