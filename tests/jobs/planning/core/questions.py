"""Every question put to the planner and to the references; an assertion fails where they differ."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from jobs.planning.core import (
    Stage,
    bottleneck,
    earliest_due,
    edf,
    fits,
    lateness,
    max_lateness,
    must_do,
    must_do_curve,
    offer,
    overtime,
    own_minutes,
    own_weeks,
    room,
    spare,
)
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import Case
from tests.jobs.planning.core.harder_questions import (
    late_report_and_repairs,
    pickups_with_fittings,
    rush_job,
    week_in_pieces,
)
from tests.jobs.planning.core.workable import LONG, check_workable, long_calendar


def feasibility(case: Case) -> None:
    jobs = ref.work(case.stages)
    expected = ref.feasible(case.capacity, jobs)
    plan = edf(case.capacity, case.stages)
    assert plan.feasible == expected
    assert fits(case.capacity, case.stages) == expected
    assert max(plan.overdue) == max(0, ref.worst_window(case.capacity, jobs)[0])
    check_workable(plan.allocation, case.capacity, case.stages)
    assert plan.allocation == edf(case.capacity, sorted(case.stages, key=lambda s: s.id)).allocation
    assert len(plan.pieces) <= len(jobs) + len(case.capacity) - 1 or not jobs


def lateness_of_each(case: Case) -> None:
    calendar, minutes = long_calendar(case)
    rows = ref.closure(case.stages)
    working = [s for s in rows if s.processing]
    ends = ref.live_through(minutes, working)
    found = lateness(calendar, case.stages)
    assert set(found) == {s.id for s in rows}
    assert {s.id: found[s.id] for s in working} == {s.id: ends[s.id] - s.due for s in working}
    worst = max_lateness(calendar, case.stages)
    if working:
        assert can_be_late(minutes, working, worst)
        assert not can_be_late(minutes, working, worst - 1)
        assert worst == max(found[s.id] for s in working)


def can_be_late(minutes: Sequence[int], rows: Iterable[Stage], by: int) -> bool:
    moved = [replace(s, due=s.due + by) for s in rows]
    return all(s.release <= s.due for s in moved) and ref.feasible(minutes, moved)


def worst_window(case: Case) -> None:
    jobs = ref.work(case.stages)
    excess, windows = ref.worst_window(case.capacity, jobs)
    found = bottleneck(case.capacity, case.stages)
    if excess <= 0:
        assert found is None
        return
    inside = [j for j in jobs if j.release >= found.start and j.due <= found.end]
    assert (found.start, found.end) in windows
    assert found.end == min(end for _, end in windows)
    assert found.start == max(start for start, end in windows if end == found.end)
    assert set(found.stages) == {j.id for j in inside}
    assert found.demand == sum(j.processing for j in inside)
    assert found.capacity == sum(case.capacity[found.start : found.end + 1])
    assert found.excess == found.demand - found.capacity == excess


def extra_time(case: Case) -> None:
    jobs = ref.work(case.stages)
    total, on_time = sum(j.processing for j in jobs), ref.max_flow(case.capacity, jobs)
    found = overtime(case.capacity, case.stages)
    assert (found.minutes, found.demand, found.on_time) == (total - on_time, total, on_time)
    longer = list(case.capacity)
    for bucket, minutes in found.by_bucket:
        longer[bucket] += minutes
    assert sum(longer) == sum(case.capacity) + found.minutes
    assert ref.feasible(longer, jobs)


def must_do_of_every_day(case: Case) -> None:
    longer, jobs = ref.settled(case.capacity, case.stages)
    expected = ref.least_by(longer, jobs)[: len(case.capacity)]
    assert must_do_curve(case.capacity, case.stages) == expected
    overfull = not ref.feasible(case.capacity, ref.work(case.stages))
    for by, least in enumerate(expected):
        found = must_do(case.capacity, case.stages, by)
        assert found.minutes == least == found.demand - found.later_capacity
        assert found.free == sum(case.capacity[: by + 1]) - least
        assert found.relaxed == overfull
        if least:
            assert found.demand == sum(j.processing for j in jobs if j.due <= found.binding_due)
            assert found.later_capacity == sum(longer[by + 1 : found.binding_due + 1])
            for sooner in range(by, found.binding_due):
                due = sum(j.processing for j in jobs if j.due <= sooner)
                assert due - sum(longer[by + 1 : sooner + 1]) < least
        assert sum(minutes for day in found.plan for _, minutes in day) == least
        left = check_workable(found.plan, case.capacity, case.stages)
        rest = [replace(j, processing=left[j.id], release=max(j.release, by + 1)) for j in jobs]
        rest = [j for j in rest if j.processing]
        assert all(j.release <= j.due for j in rest)
        assert ref.feasible([0] * (by + 1) + longer[by + 1 :], rest)


def spare_minutes(case: Case) -> None:
    longer, jobs = ref.settled(case.capacity, case.stages)
    for release in {0, case.release}:
        expected = ref.most_extra(longer, jobs, release)[: len(case.capacity)]
        assert spare(case.capacity, case.stages, release) == expected
        for due in range(release, len(case.capacity)):
            found = room(case.capacity, case.stages, due, release)
            assert found.minutes == expected[due] == found.capacity - found.demand
            assert found.capacity == sum(longer[release : found.binding_due + 1])


def promise_date(case: Case) -> None:
    calendar, minutes = long_calendar(case)
    jobs = ref.settled(minutes, case.stages)[1]

    def possible(due: int) -> bool:
        new = Stage("new", "new", 0, case.processing, case.release, due)
        return ref.feasible(minutes, [*jobs, new])

    found = earliest_due(calendar, case.stages, case.processing, case.release)
    assert possible(found)
    assert found == case.release or not possible(found - 1)
    days = set(range(case.number % 5, LONG, 3))
    later = earliest_due(calendar, case.stages, case.processing, case.release, days)
    assert later == min(day for day in days if day >= found)
    told = offer(calendar, case.stages, case.processing, case.release, days.__contains__)
    assert told.due == later
    assert told.room.minutes >= case.processing
    if told.too_soon:
        assert told.too_soon.due == max(day for day in days if day < later)
        assert told.too_soon.minutes < case.processing


def own_minutes_by_week(case: Case) -> None:
    longer, jobs = ref.settled(case.capacity, case.stages)
    found = own_minutes(case.capacity, case.stages, case.weeks, case.target)
    assert found == ref.own_by_week(longer, jobs, case.weeks, case.target)
    assert found == ref.own_by_flow(longer, jobs, case.weeks, case.target)
    backwards = ref.own_by_flow(longer, jobs, case.weeks[::-1], case.target[::-1])
    assert sum(found) == sum(backwards)
    told = own_weeks(case.capacity, case.stages, case.weeks, case.target)
    assert [week.kept + week.lost for week in told] == list(case.target)
    assert [sum(week.by_bucket) for week in told] == found
    reserved = list(longer)
    for week in told:
        for bucket, minutes in enumerate(week.by_bucket, start=week.first):
            reserved[bucket] -= minutes
    assert ref.feasible(reserved, jobs)


QUESTIONS: dict[str, Callable[[Case], None]] = {
    "feasibility": feasibility,
    "lateness": lateness_of_each,
    "bottleneck": worst_window,
    "overtime": extra_time,
    "must-do for every day": must_do_of_every_day,
    "spare minutes": spare_minutes,
    "promise date": promise_date,
    "promise date with fittings": pickups_with_fittings,
    "own minutes by week": own_minutes_by_week,
    "rush impact": rush_job,
    "late list and repairs": late_report_and_repairs,
    "week plan": week_in_pieces,
}
