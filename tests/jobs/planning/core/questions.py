"""Every question put to the planner and to the references; an assertion fails where they differ."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import combinations
from operator import sub

from jobs.planning.core import (
    Stage,
    bottleneck,
    earliest_due,
    earliest_pickup,
    edf,
    fewest_moved,
    fits,
    lateness,
    must_do,
    overtime,
    own_minutes,
    own_plan,
    plan_weeks,
    room,
    rush_impact,
    share_stages,
    spare,
)
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import LONG, Case, check_workable, long_calendar


def pickups_with_fittings(case: Case) -> None:
    calendar, minutes = long_calendar(case)
    jobs = ref.settled(minutes, case.stages)[1]
    pickup = earliest_pickup(calendar, case.stages, case.parts, case.release, case.rule)
    assert len(pickup.fittings) == len(case.parts) - 1
    assert possible(case, minutes, jobs, pickup.fittings, pickup.due)
    # A later date only widens the last window, so the day before is the one that must fail.
    for fittings in choices(case, len(pickup.fittings), pickup.due - 1):
        assert not possible(case, minutes, jobs, fittings, pickup.due - 1)


def choices(case: Case, count: int, last: int) -> list[tuple[int, ...]]:
    """Every way to place so many fittings up to bucket ``last``."""
    days = [d for d in range(last + 1) if case.rule.allowed is None or d in case.rule.allowed]
    if count == 1:
        return [(day,) for day in days]
    return [(first, second) for first in days for second in days if first <= second]


def possible(
    case: Case, minutes: Sequence[int], jobs: list[Stage], fittings: tuple[int, ...], due: int
) -> bool:
    """Whether the book, the parts, and the fittings' own minutes fit together."""
    rule, release, new = case.rule, case.release, []
    for part, day in zip(case.parts, fittings, strict=False):
        if day < release:
            return False
        if part:
            new.append(Stage(f"part {len(new)}", "", 0, part, release, day - rule.lead_in))
        new.append(Stage(f"fitting {len(new)}", "", 0, rule.minutes, day, day))
        release = day + rule.lead_out
    new.append(Stage("last part", "", 0, case.parts[-1], release, due))
    windows = all(stage.release <= stage.due for stage in new)
    return windows and ref.feasible(minutes, [*jobs, *new])


def rush_job(case: Case) -> None:
    calendar, minutes = long_calendar(case)
    before, rush = ref.work(case.stages), ref.work([case.rush])
    impact = rush_impact(calendar, case.stages, case.rush, case.weeks, case.target)
    assert impact.fits == ref.feasible(minutes, [*before, *rush])
    assert impact.possible == ref.feasible(minutes, rush)
    assert (impact.bottleneck is None) == impact.fits
    if not impact.possible:
        assert impact.slip is None
        assert impact.bottleneck.excess == ref.worst_window(minutes, rush)[0]
        return
    slip = 0
    while not ref.feasible(minutes, [*(replace(j, due=j.due + slip) for j in before), *rush]):
        slip += 1
    assert impact.slip == slip
    rows = [s for s in ref.closure(case.stages) if s.processing]
    moved = [replace(s, due=max(s.due, 0) + slip) for s in rows]
    ends = ref.live_through(minutes, [*moved, case.rush])
    late = {s.id: ends[s.id] - s.due for s in rows if ends[s.id] > s.due} if slip else {}
    assert {stage.stage: stage.late for stage in impact.late} == late
    alone = lateness(calendar, case.stages)
    assert all(stage.before == alone[stage.stage] for stage in impact.late)
    after = [*(replace(j, due=max(j.due, ends[j.id])) if slip else j for j in before), *rush]
    old = ref.settled(minutes, case.stages)[1]
    kept_before = ref.own_by_flow(minutes, old, case.weeks, case.target)
    kept_after = ref.own_by_flow(minutes, after, case.weeks, case.target)
    lost = list(map(sub, kept_before, kept_after))
    assert list(impact.kept_before) == kept_before
    assert list(impact.lost) == lost
    whole = [sum(minutes[a : b + 1]) for a, b in case.weeks]
    free = ref.own_by_flow(minutes, old, case.weeks, whole)
    free_after = ref.own_by_flow(minutes, after, case.weeks, whole)
    assert list(impact.free_lost) == list(map(sub, free, free_after))
    assert list(impact.kept_after) == kept_after


def week_in_pieces(case: Case) -> None:
    calendar, minutes = long_calendar(case)
    piece = 1 + max(case.capacity) // 4
    plan = plan_weeks(calendar, case.stages, case.weeks, case.target, piece)
    capacity = plan.capacity
    assert list(capacity) == minutes[: len(capacity)]
    own = own_minutes(capacity, case.stages, case.weeks, case.target)
    assert [week.kept for week in plan.own] == own
    jobs = ref.settled(minutes, case.stages)[1]
    assert plan.relaxed == (not ref.feasible(minutes, ref.work(case.stages)))
    mine = share_stages(case.weeks, own)
    left = check_workable(plan.days, capacity, [*case.stages, *mine])
    assert not any(left.values())
    whole = {s.id: s for s in [*jobs, *mine]}
    for bucket, day in enumerate(plan.days):
        assert all(bucket <= whole[name].due for name, _ in day)
        assert plan.free[bucket] == capacity[bucket] - sum(m for _, m in day)
    short = [
        (bucket, name, m)
        for bucket, day in enumerate(plan.days)
        for name, m in day
        if m < min(piece, whole[name].processing)
    ]
    assert list(plan.tight) == short
    if roomy(capacity, [*jobs, *mine], 2 * (piece - 1)):
        assert not short


def roomy(capacity: Sequence[int], jobs: list[Stage], waste: int) -> bool:
    """Whether all windows fit with so many minutes less in every bucket."""
    return ref.feasible([max(0, held - waste) for held in capacity], jobs)


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
    answer = lateness(calendar, case.stages)
    assert set(answer) == {s.id for s in rows}
    assert {s.id: answer[s.id] for s in working} == {s.id: ends[s.id] - s.due for s in working}
    if working:
        worst = max(answer[s.id] for s in working)
        assert can_be_late(minutes, working, worst)
        assert not can_be_late(minutes, working, worst - 1)


def can_be_late(minutes: Sequence[int], rows: Iterable[Stage], by: int) -> bool:
    moved = [replace(s, due=s.due + by) for s in rows]
    return all(s.release <= s.due for s in moved) and ref.feasible(minutes, moved)


def worst_window(case: Case) -> None:
    jobs = ref.work(case.stages)
    excess, windows = ref.worst_window(case.capacity, jobs)
    worst = bottleneck(case.capacity, case.stages)
    if excess <= 0:
        assert worst is None
        return
    inside = [j for j in jobs if j.release >= worst.start and j.due <= worst.end]
    assert (worst.start, worst.end) in windows
    assert worst.end == min(end for _, end in windows)
    assert worst.start == max(start for start, end in windows if end == worst.end)
    assert set(worst.stages) == {j.id for j in inside}
    assert worst.demand == sum(j.processing for j in inside)
    assert worst.capacity == sum(case.capacity[worst.start : worst.end + 1])
    assert worst.excess == worst.demand - worst.capacity == excess


def extra_time(case: Case) -> None:
    jobs = ref.work(case.stages)
    total, on_time = sum(j.processing for j in jobs), ref.max_flow(case.capacity, jobs)
    extra = overtime(case.capacity, case.stages)
    assert extra.minutes == total - on_time
    longer = list(case.capacity)
    for bucket, minutes in extra.by_bucket:
        longer[bucket] += minutes
    assert sum(longer) == sum(case.capacity) + extra.minutes
    assert ref.feasible(longer, jobs)


def must_do_of_every_day(case: Case) -> None:
    longer, jobs = ref.settled(case.capacity, case.stages)
    expected = ref.least_by(longer, jobs)[: len(case.capacity)]
    overfull = not ref.feasible(case.capacity, ref.work(case.stages))
    for by, least in enumerate(expected):
        answer = must_do(case.capacity, case.stages, by)
        assert answer.minutes == least == answer.demand - answer.later_capacity
        assert answer.free == sum(case.capacity[: by + 1]) - least
        assert answer.relaxed == overfull
        if least:
            assert answer.demand == sum(j.processing for j in jobs if j.due <= answer.binding_due)
            assert answer.later_capacity == sum(longer[by + 1 : answer.binding_due + 1])
            for sooner in range(by, answer.binding_due):
                due = sum(j.processing for j in jobs if j.due <= sooner)
                assert due - sum(longer[by + 1 : sooner + 1]) < least
        assert sum(minutes for day in answer.plan for _, minutes in day) == least
        left = check_workable(answer.plan, case.capacity, case.stages)
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
            answer = room(case.capacity, case.stages, due, release)
            assert answer.minutes == expected[due] == answer.capacity - answer.demand
            assert answer.capacity == sum(longer[release : answer.binding_due + 1])


def promise_date(case: Case) -> None:
    calendar, minutes = long_calendar(case)
    jobs = ref.settled(minutes, case.stages)[1]

    def possible(due: int) -> bool:
        new = Stage("new", "new", 0, case.processing, case.release, due)
        return ref.feasible(minutes, [*jobs, new])

    earliest = earliest_due(calendar, case.stages, case.processing, case.release)
    assert possible(earliest)
    assert earliest == case.release or not possible(earliest - 1)
    days = set(range(case.number % 5, LONG, 3))
    later = earliest_due(calendar, case.stages, case.processing, case.release, days)
    assert later == min(day for day in days if day >= earliest)
    tested = days.__contains__
    assert earliest_due(calendar, case.stages, case.processing, case.release, tested) == later
    assert room(minutes, case.stages, later, case.release).minutes >= case.processing
    if sooner := [day for day in days if case.release <= day < later]:
        too_soon = room(minutes, case.stages, max(sooner), case.release)
        assert too_soon.minutes < case.processing


def own_minutes_by_week(case: Case) -> None:
    longer, jobs = ref.settled(case.capacity, case.stages)
    kept = own_minutes(case.capacity, case.stages, case.weeks, case.target)
    assert kept == ref.own_by_week(longer, jobs, case.weeks, case.target)
    assert kept == ref.own_by_flow(longer, jobs, case.weeks, case.target)
    backwards = ref.own_by_flow(longer, jobs, case.weeks[::-1], case.target[::-1])
    assert sum(kept) == sum(backwards)
    kept_weeks = own_plan(case.capacity, case.stages, case.weeks, case.target).weeks
    assert [week.kept + week.lost for week in kept_weeks] == list(case.target)
    assert [sum(week.by_bucket) for week in kept_weeks] == kept
    reserved = list(longer)
    for week in kept_weeks:
        for bucket, minutes in enumerate(week.by_bucket, start=week.first):
            reserved[bucket] -= minutes
    assert ref.feasible(reserved, jobs)


def fewest_tickets_to_move(case: Case) -> None:
    """By trying every set of tickets, from the smallest up; one ticket in three may not move."""
    jobs = ref.work(case.stages)
    weights: dict[str, int] = {}
    for job in jobs:
        if (int(job.ticket[1:]) + case.number) % 3:
            weights[job.ticket] = weights.get(job.ticket, 0) + job.processing
    answer = fewest_moved(case.capacity, case.stages, weights)
    sets = (
        chosen
        for size in range(len(weights) + 1)
        for chosen in sorted(
            combinations(sorted(weights), size),
            key=lambda chosen: (sum(weights[ticket] for ticket in chosen), chosen),
        )
    )
    keeping = (
        chosen
        for chosen in sets
        if ref.feasible(case.capacity, [job for job in jobs if job.ticket not in chosen])
    )
    best = next(keeping, None)
    assert (answer and answer.tickets) == best
    if answer and best is not None:
        assert answer.least
        assert answer.minutes == sum(weights[ticket] for ticket in best)
    if all(not s.release for s in jobs) and len({s.ticket for s in jobs}) == len(jobs):
        all_weights = {job.ticket: job.processing for job in jobs}
        everyone = fewest_moved(case.capacity, case.stages, all_weights)
        assert everyone is not None
        assert len(everyone.tickets) == len(ref.fewest_late(case.capacity, jobs))


QUESTIONS: dict[str, Callable[[Case], None]] = {
    "feasibility": feasibility,
    "lateness": lateness_of_each,
    "bottleneck": worst_window,
    "overtime": extra_time,
    "fewest tickets to move": fewest_tickets_to_move,
    "must-do for every day": must_do_of_every_day,
    "spare minutes": spare_minutes,
    "promise date": promise_date,
    "promise date with fittings": pickups_with_fittings,
    "own minutes by week": own_minutes_by_week,
    "rush impact": rush_job,
    "week plan": week_in_pieces,
}
