"""Own time taken as early as it can be without a promise breaking: slack stealing."""

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from jobs.planning.core.errors import PlanningError
from jobs.planning.core.stages import Book, last_bucket

Weeks = Sequence[tuple[int, int]]
"""Disjoint stretches of buckets in date order, each (first, last) with both included."""


@dataclass(frozen=True)
class Given:
    """Own minutes of each bucket, and the client work (stage id, minutes) beside them."""

    own: tuple[int, ...]
    clients: tuple[tuple[tuple[str, int], ...], ...]


class _Bench:
    """Open client work, bucket by bucket. ``book`` is in due order."""

    def __init__(self, capacity: Sequence[int], book: Book) -> None:
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


def give_way(capacity: Sequence[int], book: Book, weeks: Weeks, targets: Sequence[int]) -> Given:
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
    return Given(tuple(own), tuple(clients))


def check_weeks(weeks: Weeks, buckets: int) -> None:
    """Raise PlanningError unless the weeks are disjoint, in order and inside the capacity."""
    before = -1
    for first, last in weeks:
        if not before < first <= last < buckets:
            raise PlanningError(f"Week {first} to {last} overlaps, runs backwards or leaves.")
        before = last
