"""The studio's whole book of work as the planner sees it at one moment. Plain data."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property

from jobs.planning.core import (
    OWN,
    Calendar,
    NoBenchTimeError,
    PreparedStages,
    Stage,
    WeekPlan,
    agreeable,
    own_plan,
    plan_weeks,
    prepare,
)
from jobs.planning.plan.bench import MINUTE, Bench, Busy, ShopHours
from jobs.planning.plan.workload import (
    Job,
    Load,
    PlannedMake,
    load,
    make_stages,
)

GLANCE = 6
"""Weeks that are shown at a glance, this one among them."""


@dataclass(frozen=True)
class OwnTarget:
    """What the owner keeps of one week: in all, already sewn, and put on days by hand."""

    monday: date
    minutes: int
    spent: int = 0
    placed: int = 0

    @property
    def loose(self) -> int:
        """Minutes still to be found room for between the client work."""
        return max(0, self.minutes - self.spent - self.placed)


@dataclass(frozen=True)
class OwnTotals:
    """The owner's minutes of one week: those to be kept, sewn already, and those that still fit.

    ``fits`` are the hours put on days and those that the plan finds room for, makes with a day
    among them: what the chart of the week shows as own, less what was sewn. ``more`` is what is
    beyond those to be kept. So target + more = sewn + fits + lost.
    """

    monday: date
    target: int
    sewn: int
    fits: int

    @property
    def kept(self) -> int:
        return self.sewn + self.fits

    @property
    def lost(self) -> int:
        return max(0, self.target - self.kept)

    @property
    def more(self) -> int:
        return max(0, self.kept - self.target)


@dataclass(frozen=True)
class Book:
    """Bench, jobs and own hours.

    ``busy`` are the appointments (fittings included) and ``blocks`` the own hours put on days;
    both are already taken out of the bench. ``targets`` are the own hours of this week and the
    next ones, in order. ``makes`` are the owner's own that are planned like a promise, ``unnamed``
    the blocks that were put on days for nothing in particular.
    """

    bench: Bench
    jobs: tuple[Job, ...]
    busy: tuple[Busy, ...] = ()
    blocks: tuple[Busy, ...] = ()
    targets: tuple[OwnTarget, ...] = ()
    min_piece: int = 15
    makes: tuple[PlannedMake, ...] = ()
    unnamed: tuple[Busy, ...] = ()

    @cached_property
    def load(self) -> Load:
        return load(self.jobs, self.bench)

    @property
    def stages(self) -> list[Stage]:
        return self.load.stages

    @cached_property
    def prepared(self) -> PreparedStages:
        """The stages that need minutes, in due order, as the core takes them without ado."""
        return prepare(self.stages)

    @property
    def idle(self) -> bool:
        """Whether there is no bench time at all, on any day."""
        return not any(self.capacity)

    @property
    def capacity(self) -> tuple[int, ...]:
        return self.bench.capacity

    @cached_property
    def calendar(self) -> Calendar:
        """The bench, and after it a bucket a day in the pattern of its last week with hours."""
        return Calendar(self.capacity, next(filter(any, self._weeks_back()), ()))

    def _weeks_back(self) -> Iterator[tuple[int, ...]]:
        """Minutes of the seven days of each week, from the end of the bench."""
        day = self.bench.buckets[-1].day
        while day > self.bench.today:
            yield tuple(
                self.bench.minutes_on(day - timedelta(days=back)) for back in range(6, -1, -1)
            )
            day -= timedelta(weeks=1)

    @cached_property
    def weeks(self) -> list[tuple[int, int]]:
        """The buckets of each week with an own target, first and last."""
        return [
            (
                max(0, self.bench.first_of_day(target.monday)),
                self.bench.last_of_day(target.monday + timedelta(days=6)),
            )
            for target in self.targets
        ]

    @cached_property
    def own_whole(self) -> list[int]:
        """Loose own minutes wanted in each week, never more than its bench time."""
        return [
            min(target.loose, sum(self.capacity[first : last + 1]))
            for target, (first, last) in zip(self.targets, self.weeks, strict=True)
        ]

    @cached_property
    def make_stages(self) -> list[Stage]:
        """What is to be sewn at the bench for planned makes, each until its day."""
        return make_stages(self.makes, self.bench, self._by_day(self.unnamed))

    def make_of(self, stage: str) -> PlannedMake | None:
        """The planned make that a stage of the plan is for."""
        return self.planned.get(self.plan.made.get(stage, ""))

    @cached_property
    def planned(self) -> dict[str, PlannedMake]:
        """The planned makes by their stage."""
        return {make.stage: make for make in self.makes}

    def own_stages(self, capacity: Sequence[int]) -> list[Stage]:
        """The own hours that survive beside the clients, makes among them, for questions."""
        own = own_plan(capacity, self.prepared, self.weeks, self.own_whole, makes=self.make_stages)
        return list(own.shares)

    @cached_property
    def busy_on(self) -> dict[date, int]:
        """Minutes of appointments still to come, by the clock and by day."""
        return self._by_day(self.busy)

    @cached_property
    def placed_on(self) -> dict[date, int]:
        """Minutes of own hours put on days, those still to come."""
        return self._by_day(self.blocks)

    def _by_day(self, stretches: Iterable[Busy]) -> dict[date, int]:
        minutes: dict[date, int] = defaultdict(int)
        for stretch in stretches:
            if stretch.ends > self.bench.now:
                left = (stretch.ends - max(stretch.starts, self.bench.now)) // MINUTE
                minutes[self.bench.day_of(stretch.starts)] += left
        return minutes

    @cached_property
    def due_of(self) -> dict[str, int]:
        """The due bucket of each stage by its id, as the core's order of the ticket makes it."""
        whole = len(self.prepared) == len(self.stages)
        stages = self.prepared if whole else agreeable(self.stages)
        return {stage.id: max(0, stage.due) for stage in stages}

    @cached_property
    def plan(self) -> WeekPlan:
        """Client work and surviving own hours, bucket by bucket; nothing if it never fits."""
        own_hours = self.weeks, self.own_whole, self.min_piece
        try:
            return plan_weeks(self.calendar, self.prepared, *own_hours, makes=self.make_stages)
        except NoBenchTimeError:
            nothing = plan_weeks(self.calendar, [], *own_hours)
            return replace(nothing, relaxed=True)

    def own_minutes(self, days: Sequence[date]) -> int:
        """Own minutes to come on these days: put on them by hand, and found room for."""
        minutes = sum(self.placed_on.get(day, 0) for day in days)
        for day in days:
            first, last = max(0, self.bench.first_of_day(day)), self.bench.last_of_day(day)
            for pieces in self.plan.days[first : last + 1]:
                minutes += sum(worked for stage, worked in pieces if stage.startswith(OWN))
        return minutes

    def own_totals(self) -> dict[date, OwnTotals]:
        """By Monday, for the weeks of the bench."""
        rows = [
            OwnTotals(week.monday, week.minutes, week.spent, self.own_minutes(week_of(week.monday)))
            for week in self.targets
        ]
        return {row.monday: row for row in rows}

    def ends_of(self, bucket: int) -> datetime:
        """When a bucket ends; the last moment of its day past the laid-out bench."""
        if bucket < len(self.bench.buckets):
            return self.bench.buckets[bucket].ends
        days = bucket - len(self.bench.buckets) + 1
        return self.bench.buckets[-1].ends + timedelta(days=days)

    def day_of(self, bucket: int) -> date:
        """The day of a bucket, past the laid-out bench too."""
        buckets = self.bench.buckets
        if bucket < len(buckets):
            return buckets[max(bucket, 0)].day
        return buckets[-1].day + timedelta(days=bucket - len(buckets) + 1)


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


def week_of(monday: date) -> list[date]:
    return [monday + timedelta(days=ahead) for ahead in range(7)]


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())
