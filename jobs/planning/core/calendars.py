"""Bench minutes per bucket, and the weekly pattern that follows."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import accumulate

from jobs.planning.core.errors import HorizonError, NoBenchTimeError, PlanningError
from jobs.planning.core.stages import Stage

FARTHEST = 20_000
"""Buckets after which looking ahead is given up: more than twenty years of double days."""


@dataclass(frozen=True)
class Calendar:
    """Whole bench minutes of each bucket from now on.

    ``capacity[0]`` is what is left of the current bucket. Bucket ``len(capacity) + i`` holds
    ``tail[i % len(tail)]`` minutes: the tail starts on the weekday after the last given bucket.
    An empty tail means that nothing follows.

    Raises PlanningError for negative minutes.
    """

    capacity: tuple[int, ...]
    tail: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if min(self.capacity, default=0) < 0 or min(self.tail, default=0) < 0:
            raise PlanningError("A bucket cannot hold fewer than 0 minutes.")

    def at(self, bucket: int) -> int:
        """Minutes of one bucket, given or in the tail."""
        after = bucket - len(self.capacity)
        if after < 0:
            return self.capacity[bucket]
        return self.tail[after % len(self.tail)] if self.tail else 0

    def extended(self, buckets: int) -> "Calendar":
        """The same calendar with at least so many buckets given; the weekdays stay in step."""
        extra = buckets - len(self.capacity)
        if extra <= 0:
            return self
        if not self.tail:
            return Calendar(self.capacity + (0,) * extra)
        weeks, over = divmod(extra, len(self.tail))
        added = self.tail * weeks + self.tail[:over]
        return Calendar(self.capacity + added, self.tail[over:] + self.tail[:over])

    def reach(self, last: int, *, minutes: int = 0, after: int = 0) -> tuple[int, ...]:
        """Capacity up to bucket ``last`` and on until ``after`` onwards holds ``minutes``.

        Never shorter than ``capacity``. O(T). Raises NoBenchTimeError if the minutes are not
        found within `FARTHEST` buckets, HorizonError if ``last`` itself lies further away.
        """
        buckets = max(last + 1, after + 1, len(self.capacity))
        if buckets > FARTHEST:
            raise HorizonError("A stage", buckets - 1, FARTHEST)
        missing = minutes - sum(self.extended(buckets).capacity[after:buckets])
        if missing > 0:
            buckets += self._buckets_for(missing, self.extended(buckets).tail, minutes, after)
        if buckets > FARTHEST:
            raise NoBenchTimeError(minutes, after)
        return self.extended(buckets).capacity

    @staticmethod
    def _buckets_for(missing: int, tail: tuple[int, ...], minutes: int, after: int) -> int:
        if not sum(tail):
            raise NoBenchTimeError(minutes, after)
        weeks = (missing - 1) // sum(tail)
        rest = missing - weeks * sum(tail)
        full = next(i for i, held in enumerate(accumulate(tail), start=1) if held >= rest)
        return weeks * len(tail) + full


def reach_of(
    calendar: Calendar, stages: Iterable[Stage], *, extra: int = 0, after: int = 0
) -> tuple[int, ...]:
    """Capacity long enough to finish all stages, and ``extra`` minutes from ``after`` on.

    Long enough however late they are begun. O(n + T). Raises NoBenchTimeError if the calendar
    never holds them.
    """
    rows = list(stages)
    latest = max([stage.release for stage in rows], default=0)
    last = max([stage.due for stage in rows], default=0)
    minutes = sum([stage.processing for stage in rows]) + extra
    after = max(after, latest)
    return calendar.reach(max(last, after), minutes=minutes, after=after)
