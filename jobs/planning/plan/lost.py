"""How much bench time is really lost: what the clock was not running for. Plain data."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from jobs.planning.plan.bench import MINUTE, Bench, Busy


@dataclass(frozen=True)
class Measured:
    """Bench minutes of the days on which anything was timed, and the minutes timed in them."""

    days: int
    bench: int
    sewn: int

    @property
    def percent(self) -> int:
        """The lost part in whole percent, half up. Needs at least one day."""
        lost = self.bench - self.sewn
        return (200 * lost + self.bench) // (2 * self.bench)


def measure(bench: Bench, sewn: Iterable[Busy]) -> Measured:
    """What of the bench was sewn in, on the days on which anything was.

    Times that run beside each other count once, and what lies outside the bench hours not at all.
    ``bench`` is laid out without lost time. O(buckets times stretches).
    """
    stretches = _merged(sewn)
    days: set[object] = set()
    total = 0
    for bucket in bench.buckets:
        held = sum(
            max(0, (min(ends, bucket.ends) - max(starts, bucket.starts)) // MINUTE)
            for starts, ends in stretches
        )
        if held:
            days.add(bucket.day)
            total += held
    capacity = sum(bucket.minutes for bucket in bench.buckets if bucket.day in days)
    return Measured(len(days), capacity, total)


def _merged(sewn: Iterable[Busy]) -> list[tuple[datetime, datetime]]:
    merged: list[tuple[datetime, datetime]] = []
    for starts, ends in sorted((s.starts.astimezone(UTC), s.ends.astimezone(UTC)) for s in sewn):
        if merged and starts <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], ends))
        else:
            merged.append((starts, ends))
    return merged
