"""The hours of the studio, and the owner's part of them week by week."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from jobs.planning.plan.bench import MINUTE, Bench, Busy, Shift
from jobs.planning.plan.book import OwnTarget, monday_of


@dataclass(frozen=True)
class ShopHours:
    """Shifts by weekday (Monday is 0), and days off."""

    shifts: dict[int, Shift]
    closed: frozenset[date]

    def is_open(self, day: date) -> bool:
        return day.weekday() in self.shifts and day not in self.closed

    def minutes_in_week(self, monday: date) -> int:
        """Bench minutes of a whole week, before lost time."""
        days = [monday + timedelta(days=ahead) for ahead in range(7)]
        return sum(self.shifts[day.weekday()].minutes for day in days if self.is_open(day))

    def usual_own(self, monday: date, percent: int) -> int:
        """The owner's share of a week's bench time, rounded down to whole minutes."""
        return self.minutes_in_week(monday) * percent // 100


def own_targets(
    bench: Bench,
    hours: ShopHours,
    percent: int,
    *,
    chosen: Mapping[date, int],
    blocks: Iterable[Busy],
    spent: int,
    last: date,
) -> tuple[OwnTarget, ...]:
    """The own hours of each week from this one until ``last``: as ``chosen``, else the usual share.

    ``blocks`` are the own hours put on days, of which those to come count, and ``spent`` the own
    minutes sewn this week.
    """
    first = monday_of(bench.today)
    placed: dict[date, int] = defaultdict(int)
    for block in blocks:
        if block.ends > bench.now:
            left = (block.ends - max(block.starts, bench.now)) // MINUTE
            placed[monday_of(bench.day_of(block.starts))] += left
    mondays = [first + timedelta(weeks=ahead) for ahead in range((last - first).days // 7 + 1)]
    return tuple(
        OwnTarget(
            monday=monday,
            minutes=chosen.get(monday, hours.usual_own(monday, percent)),
            spent=spent if monday == first else 0,
            placed=placed[monday],
        )
        for monday in mondays
    )
