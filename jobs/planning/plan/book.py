"""The studio's whole book of work as the planner sees it at one moment. Plain data."""

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import TypedDict

from jobs.planning.core import (
    OWN,
    Calendar,
    NoBenchTimeError,
    PreparedStages,
    Stage,
    WeekPlan,
    agreeable,
    fits,
    lateness,
    least_overtime,
    own_plan,
    plan_weeks,
    prepare,
    reach_of,
)
from jobs.planning.plan.bench import MINUTE, Bench, Busy, ShopHours
from jobs.planning.plan.workload import (
    DayAtRisk,
    DayTrouble,
    Job,
    Load,
    OwnDay,
    PlannedMake,
    load,
    make_stages,
)

GLANCE = 8
"""Weeks that are shown at a glance, this one among them."""


class OwnWork(TypedDict):
    """Own work with a window of its own, by the names of the core."""

    makes: list[Stage]
    days: list[Stage]


@dataclass(frozen=True)
class OwnTarget:
    """What the owner keeps of one week: in all, already sewn, and put on days by hand.

    ``on_days`` of the ``placed`` minutes have a day but no hour.
    """

    monday: date
    minutes: int
    spent: int = 0
    placed: int = 0
    on_days: int = 0

    @property
    def loose(self) -> int:
        """Minutes still to be found room for between the client work."""
        return max(0, self.minutes - self.spent - self.placed)


@dataclass(frozen=True)
class OwnTotals:
    """The owner's minutes of one week: those to be kept, sewn already, and those that still fit.

    ``fits`` are the hours put on days and those that the plan finds room for, makes with a day
    among them: what the chart of the week shows as own, less what was sewn. ``more`` is what is
    beyond those to be kept. So target + more = sewn + fits + lost. What is lost went by while
    nobody sewed, as far as so much of the bench is ``gone``; for the rest there was no room.
    """

    monday: date
    target: int
    sewn: int
    fits: int
    gone: int = 0

    @property
    def gone_by(self) -> int:
        return min(self.lost, self.gone)

    @property
    def no_room(self) -> int:
        return self.lost - self.gone_by

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
    the blocks that were put on days for nothing in particular. ``own_days`` are own minutes with a
    day but no hour, still to be sewn.
    """

    bench: Bench
    jobs: tuple[Job, ...]
    busy: tuple[Busy, ...] = ()
    blocks: tuple[Busy, ...] = ()
    targets: tuple[OwnTarget, ...] = ()
    min_piece: int = 15
    makes: tuple[PlannedMake, ...] = ()
    unnamed: tuple[Busy, ...] = ()
    own_days: tuple[OwnDay, ...] = ()

    @cached_property
    def load(self) -> Load:
        """The stages, each block of work on the day it was put on as far as that can hold.

        The promises come first: a block is let loose, and told in ``at_risk``, where with it work
        would be done later than without. Blocks are tried in the order of day and ticket.
        O((1 + k) (n log n + T)) for k blocks, and O(n log n + T) where all hold.
        """
        everything = load(self.jobs, self.bench)
        if not everything.on_days or self.idle or fits_all(self.calendar, everything):
            return everything
        blocks: dict[tuple[date, str], set[str]] = defaultdict(set)
        for job in self.jobs:
            for work in job.works:
                if work.day and work.stage in everything.works:
                    blocks[work.day, job.ticket].add(work.stage)
        loose = {stage for stages in blocks.values() for stage in stages}
        result = without = self._let_loose(loose)
        ends, missing = lateness(self.calendar, without.stages), overtime_of(self.calendar, without)
        at_risk = list(without.at_risk)
        for (day, _), stages in sorted(blocks.items()):
            tried = self._let_loose(loose - stages)
            works = tuple(tried.works[stage] for stage in sorted(stages))
            job = tried.job_of[min(stages)]
            wrong = [risk for risk in tried.at_risk if stages & {w.stage for w in risk.works}]
            if wrong:
                at_risk.append(replace(wrong[0], works=works))
            elif _nobody_later(lateness(self.calendar, tried.stages), ends, set(tried.on_days)):
                loose, result = loose - stages, tried
            else:
                short = max(1, overtime_of(self.calendar, tried) - missing)
                at_risk.append(DayAtRisk(job, works, day, DayTrouble.FULL, short))
        result.at_risk = at_risk
        return result

    def _let_loose(self, loose: Container[str]) -> Load:
        return load(self.jobs, self.bench, loose)

    @cached_property
    def let_loose(self) -> "Book":
        """The same book with no client's work put on a day: what the promises alone ask for."""
        if not any(work.day for job in self.jobs for work in job.works):
            return self
        jobs = tuple(
            replace(job, works=tuple(replace(work, day=None) for work in job.works))
            for job in self.jobs
        )
        return replace(self, jobs=jobs)

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
        placed: dict[date, int] = defaultdict(int, self._by_day(self.unnamed))
        taken: dict[int, int] = defaultdict(int)
        for own in self.own_days:
            if own.make:
                taken[own.make] += own.minutes
            else:
                placed[own.day] += own.minutes
        makes = [
            replace(make, minutes=max(0, make.minutes - taken[make.pk])) for make in self.makes
        ]
        return make_stages(makes, self.bench, placed)

    @cached_property
    def day_stages(self) -> list[Stage]:
        """Own minutes put on days to come that have bench time: windows of these days."""
        return [
            Stage(
                own.stage,
                own.stage,
                0,
                own.minutes,
                max(0, self.bench.first_of_day(own.day)),
                self.bench.last_of_day(own.day),
            )
            for own in self.own_days
            if own.day >= self.bench.today and self.bench.minutes_on(own.day)
        ]

    @cached_property
    def own_at_risk(self) -> list[tuple[OwnDay, int]]:
        """Own minutes put on days that no longer hold them, and how many minutes are missing."""
        sewn: dict[str, int] = defaultdict(int)
        for day in self.plan.days:
            for stage, minutes in day:
                sewn[stage] += minutes
        return [
            (own, own.minutes - sewn[own.stage])
            for own in self.own_days
            if sewn[own.stage] < own.minutes
        ]

    def make_of(self, stage: str) -> PlannedMake | OwnDay | None:
        """The make that a stage of the plan is for, planned for a day or put on one."""
        if own := self._own_days.get(stage):
            return own if own.make else None
        return self.planned.get(self.plan.made.get(stage, ""))

    @cached_property
    def _own_days(self) -> dict[str, OwnDay]:
        return {own.stage: own for own in self.own_days}

    @cached_property
    def planned(self) -> dict[str, PlannedMake]:
        """The planned makes by their stage."""
        return {make.stage: make for make in self.makes}

    def own_stages(self, capacity: Sequence[int]) -> list[Stage]:
        """The own hours that survive beside the clients, makes among them, for questions."""
        own = own_plan(capacity, self.prepared, self.weeks, self.own_whole, **self.own_work)
        return list(own.shares)

    @property
    def own_work(self) -> OwnWork:
        """Makes with a day, and own minutes put on days, as the core takes them."""
        return {"makes": self.make_stages, "days": self.day_stages}

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
            return plan_weeks(self.calendar, self.prepared, *own_hours, **self.own_work)
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
    own_days: Iterable[OwnDay] = (),
    spent: int,
    last: date,
) -> tuple[OwnTarget, ...]:
    """The own hours of each week from this one until ``last``: as ``chosen``, else the usual share.

    ``blocks`` are the own hours put on days, of which those to come count, ``own_days`` those with
    no hour, and ``spent`` the own minutes sewn this week.
    """
    first = monday_of(bench.today)
    placed: dict[date, int] = defaultdict(int)
    for block in blocks:
        if block.ends > bench.now:
            left = (block.ends - max(block.starts, bench.now)) // MINUTE
            placed[monday_of(bench.day_of(block.starts))] += left
    on_days: dict[date, int] = defaultdict(int)
    for own in own_days:
        if own.day >= bench.today:
            on_days[monday_of(own.day)] += own.minutes
    mondays = [first + timedelta(weeks=ahead) for ahead in range((last - first).days // 7 + 1)]
    return tuple(
        OwnTarget(
            monday=monday,
            minutes=chosen.get(monday, hours.usual_own(monday, percent)),
            spent=spent if monday == first else 0,
            placed=placed[monday] + on_days[monday],
            on_days=on_days[monday],
        )
        for monday in mondays
    )


def fits_all(calendar: Calendar, work: Load) -> bool:
    """Whether every window of these stages can be kept."""
    return fits(reach_of(calendar, work.stages), work.stages)


def overtime_of(calendar: Calendar, work: Load) -> int:
    return least_overtime(reach_of(calendar, work.stages), work.stages)


def _nobody_later(late: dict[str, int], before: dict[str, int], on_days: set[str]) -> bool:
    """Whether blocks are sewn on their days and all other work as soon as it was, or on time."""
    return all(
        by <= (0 if stage in on_days else max(0, before[stage])) for stage, by in late.items()
    )


def week_of(monday: date) -> list[date]:
    return [monday + timedelta(days=ahead) for ahead in range(7)]


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())
