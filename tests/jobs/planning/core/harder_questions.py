"""Questions that several simpler ones make up: fittings, rush jobs, repairs, the week's plan."""

from collections.abc import Sequence
from dataclasses import replace

from jobs.planning.core import (
    Stage,
    earliest_pickup,
    late_report,
    lateness,
    max_lateness,
    own_minutes,
    plan_weeks,
    repairs,
    rush_impact,
    share_stages,
    week_plan,
)
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import Case
from tests.jobs.planning.core.workable import check_workable, long_calendar


def pickups_with_fittings(case: Case) -> None:
    calendar, minutes = long_calendar(case)
    jobs = ref.settled(minutes, case.stages)[1]
    found = earliest_pickup(calendar, case.stages, case.parts, case.release, case.rule)
    assert len(found.fittings) == len(case.parts) - 1
    assert possible(case, minutes, jobs, found.fittings, found.due)
    # A later date only widens the last window, so the day before is the one that must fail.
    for fittings in choices(case, len(found.fittings), found.due - 1):
        assert not possible(case, minutes, jobs, fittings, found.due - 1)


def choices(case: Case, count: int, last: int) -> list[tuple[int, ...]]:
    """Every way to place so many fittings up to bucket ``last``."""
    days = [d for d in range(last + 1) if case.rule.allowed is None or d in case.rule.allowed]
    if count == 1:
        return [(day,) for day in days]
    return [(one, two) for one in days for two in days if one <= two]


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
    found = rush_impact(calendar, case.stages, case.rush, case.weeks, case.target)
    assert found.fits == ref.feasible(minutes, [*before, *rush])
    assert found.possible == ref.feasible(minutes, rush)
    assert (found.bottleneck is None) == found.fits
    if not found.possible:
        assert found.slip is None
        assert found.bottleneck.excess == ref.worst_window(minutes, rush)[0]
        return
    slip = 0
    while not ref.feasible(minutes, [*(replace(j, due=j.due + slip) for j in before), *rush]):
        slip += 1
    assert found.slip == slip
    rows = [s for s in ref.closure(case.stages) if s.processing]
    moved = [replace(s, due=max(s.due, 0) + slip) for s in rows]
    ends = ref.live_through(minutes, [*moved, case.rush])
    late = {s.id: ends[s.id] - s.due for s in rows if ends[s.id] > s.due} if slip else {}
    assert {one.stage: one.late for one in found.late} == late
    alone = lateness(calendar, case.stages)
    assert all(one.before == alone[one.stage] for one in found.late)
    after = [*(replace(j, due=max(j.due, ends[j.id])) if slip else j for j in before), *rush]
    old = ref.settled(minutes, case.stages)[1]
    kept_before = ref.own_by_flow(minutes, old, case.weeks, case.target)
    kept_after = ref.own_by_flow(minutes, after, case.weeks, case.target)
    lost = [one - two for one, two in zip(kept_before, kept_after, strict=True)]
    assert list(found.kept_before) == kept_before
    assert list(found.lost) == lost
    whole = [sum(minutes[a : b + 1]) for a, b in case.weeks]
    free = ref.own_by_flow(minutes, old, case.weeks, whole)
    free_after = ref.own_by_flow(minutes, after, case.weeks, whole)
    assert list(found.free_lost) == [one - two for one, two in zip(free, free_after, strict=True)]
    assert list(found.kept_after) == kept_after


def late_report_and_repairs(case: Case) -> None:
    calendar, minutes = long_calendar(case)
    jobs = sorted(
        (s for s in ref.closure(case.stages) if s.processing),
        key=lambda s: (s.due, s.ticket, s.seq, s.id),
    )
    found = late_report(calendar, case.stages)
    worst = max(max_lateness(calendar, case.stages), 0)
    assert max(found.values(), default=0) == worst
    plain = {s: late for s, late in lateness(calendar, jobs).items() if late > 0}
    assert len(found) <= len(plain)
    assert found == rescue_by_trying(minutes, jobs, worst)
    mended = repairs(calendar, case.stages)
    clamped = ref.work(case.stages)
    if ref.feasible(minutes, clamped):
        assert mended is None
        return
    inside = {j.ticket for j in clamped if j.id in mended.bottleneck.stages}
    without = {t: [j for j in clamped if j.ticket != t] for t in inside}
    clearing = sorted(t for t, rest in without.items() if ref.feasible(minutes, rest))
    assert list(mended.handed_away) == clearing
    assert [move.by for move in mended.moves] == sorted(move.by for move in mended.moves)
    assert {move.ticket for move in mended.moves} <= set(clearing)
    for move in mended.moves:
        dues = dict(move.stages)
        assert ref.feasible(minutes, [replace(j, due=dues.get(j.id, j.due)) for j in clamped])
        sooner = [replace(j, due=dues[j.id] - 1) if j.id in dues else j for j in clamped]
        assert not ref.feasible(minutes, sooner)


def rescue_by_trying(minutes: Sequence[int], jobs: list[Stage], worst: int) -> dict[str, int]:
    """In due order, each stage's least lateness found by trying 0, 1, 2 ... with maximum flow."""
    late: dict[str, int] = {}
    for place, job in enumerate(jobs):
        for tried in range(worst + 1):
            late[job.id] = tried
            moved = [
                replace(j, due=max(j.due + (late[j.id] if i <= place else worst), 0))
                for i, j in enumerate(jobs)
            ]
            if job.due + tried >= 0 and ref.feasible(minutes, ref.work(moved)):
                break
    return {job: by for job, by in late.items() if by}


def week_in_pieces(case: Case) -> None:
    calendar, minutes = long_calendar(case)
    piece = 1 + max(case.capacity) // 4
    found = plan_weeks(calendar, case.stages, case.weeks, case.target, piece)
    capacity = found.capacity
    assert list(capacity) == minutes[: len(capacity)]
    own = own_minutes(capacity, case.stages, case.weeks, case.target)
    assert [week.kept for week in found.own] == own
    jobs = ref.settled(minutes, case.stages)[1]
    assert found.relaxed == (not ref.feasible(minutes, ref.work(case.stages)))
    mine = share_stages(case.weeks, own)
    left = check_workable(found.days, capacity, [*case.stages, *mine])
    assert not any(left.values())
    whole = {s.id: s for s in [*jobs, *mine]}
    for bucket, day in enumerate(found.days):
        assert all(bucket <= whole[name].due for name, _ in day)
        assert found.free[bucket] == capacity[bucket] - sum(m for _, m in day)
    short = [
        (bucket, name, m)
        for bucket, day in enumerate(found.days)
        for name, m in day
        if m < min(piece, whole[name].processing)
    ]
    assert list(found.tight) == short
    days = week_plan(calendar, case.stages, case.weeks, case.target, piece)
    assert [tuple(day) for day in days] == list(found.days)
    if roomy(capacity, [*jobs, *mine], 2 * (piece - 1)):
        assert not short


def roomy(capacity: Sequence[int], jobs: list[Stage], waste: int) -> bool:
    """Whether all windows fit with so many minutes less in every bucket."""
    return ref.feasible([max(0, held - waste) for held in capacity], jobs)
