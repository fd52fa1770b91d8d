"""Own hours with makes that have a day, against a linear program that knows nothing of the planner.

The program has minutes of every client stage, of every make and of own time for each bucket. A
make is first given what it can get; then the own minutes of the first week are the most that can be
had, makes among them, then those of the second with the first kept, and so on.
"""

from collections.abc import Sequence
from random import Random

import numpy as np
import pytest
from scipy.optimize import linprog

from jobs.planning import core
from jobs.planning.core import Stage
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import dice, job, random_case
from tests.thorough import rounds

BOOKS = rounds(60, 150)


class Solver:
    """Most of something in the cells (row, bucket) of one bench; HiGHS, through scipy."""

    def __init__(self, capacity: Sequence[int], jobs: Sequence[Stage]) -> None:
        self.capacity, self.rows = list(capacity), [(j.release, j.due, j.processing) for j in jobs]
        self.floors: list[tuple[tuple[int, ...], int, int, int]] = []
        """(rows, first, last, minutes): at least so much of these rows in these buckets."""

    def add(self, first: int, last: int, minutes: int | None) -> int:
        self.rows.append((first, last, minutes))
        return len(self.rows) - 1

    def most(self, rows: Sequence[int], first: int, last: int) -> int:
        cells = [(r, t) for r, (a, z, _) in enumerate(self.rows) for t in range(a, z + 1)]
        wanted = [float(r in rows and first <= t <= last) for r, t in cells]
        limits = [[float(t == bucket) for _, t in cells] for bucket in range(len(self.capacity))]
        most = [float(held) for held in self.capacity]
        for those, start, end, minutes in self.floors:
            limits.append([-float(r in those and start <= t <= end) for r, t in cells])
            most.append(-float(minutes))
        exact = [(n, row[2]) for n, row in enumerate(self.rows) if row[2] is not None]
        sums = [[float(r == n) for r, _ in cells] for n, _ in exact]
        answer = linprog(
            -np.array(wanted),
            A_ub=np.array(limits),
            b_ub=np.array(most),
            A_eq=np.array(sums) if sums else None,
            b_eq=np.array([float(minutes) for _, minutes in exact]) if exact else None,
            method="highs",
        )
        assert answer.status == 0, answer.message
        assert abs(answer.fun - round(answer.fun)) < 1e-6
        return -round(answer.fun)


def by_program(capacity, jobs, weeks, target, makes, *, spare=True):
    """Minutes of each make, own minutes of each week, spare minutes until every bucket."""
    solver, cut, rows = Solver(capacity, jobs), [], []
    for make in makes:
        rows.append(solver.add(0, make.due, None))
        cut.append(min(make.processing, solver.most(rows[-1:], 0, make.due)))
        solver.rows[rows[-1]] = (0, make.due, cut[-1])
    own, kept = [*rows], []
    for (first, last), goal in zip(weeks, target, strict=True):
        own.append(solver.add(first, last, None))
        kept.append(min(goal, solver.most(own, first, last)))
        solver.floors.append((tuple(own), first, last, kept[-1]))
    newcomer = solver.add(0, len(capacity) - 1, None)
    every = range(len(capacity) if spare else 0)
    return cut, kept, [solver.most([newcomer], 0, bucket) for bucket in every]


def makes_of(rng: Random, buckets: int, full: int) -> list[Stage]:
    """One to three, the first to be worn first."""
    makes = [
        job(f"~make {n}", rng.randint(1, 2 * full), 0, rng.randrange(buckets))
        for n in range(rng.randint(1, 3))
    ]
    return sorted(makes, key=lambda make: (make.due, make.id))


@pytest.mark.parametrize("number", range(BOOKS))
def test_random_books(number):
    case = random_case(number)
    longer, jobs = ref.settled(case.capacity, case.stages)
    makes = makes_of(dice(number), len(case.capacity), max(case.capacity))
    plan = core.own_plan(longer, jobs, case.weeks, case.target, makes=makes)
    cut, kept, spare = by_program(longer, jobs, case.weeks, case.target, makes)
    sewn = {make.id: 0 for make in makes}
    for stage in plan.stages:
        if stage.id in plan.made:
            sewn[plan.made[stage.id]] += stage.processing
    assert list(sewn.values()) == cut
    assert [week.kept for week in plan.weeks] == kept
    assert core.fits(longer, [*jobs, *plan.stages])
    assert core.spare(longer, [*jobs, *plan.shares]) == spare


def test_hours_that_clients_do_not_leave_are_given_to_nobody():
    """270 minutes of this week, 254 of them for clients, and a make of an hour and a half.

    By hand: 16 minutes of this week are own, all for the make. Its other 80 are the first of next
    week's 100, of which 20 stay loose.
    """
    capacity, weeks = (270, 300), ((0, 0), (1, 1))
    make = job("make", 96, 0, 1)
    plan = core.own_plan(capacity, [job("client", 254, 0, 0)], weeks, (96, 100), makes=[make])
    assert [(week.kept, week.lost) for week in plan.weeks] == [(16, 80), (100, 0)]
    assert sorted((s.release, s.processing, s.id in plan.made) for s in plan.stages) == [
        (0, 16, True),
        (1, 20, False),
        (1, 80, True),
    ]


def test_own_minutes_put_on_days_come_after_clients_and_before_all_other_own_time():
    """By maximum flow: each window, in due order, takes what the flow lets it beside the others."""
    cut = 0
    for number in range(BOOKS):
        case = random_case(number)
        rng, last = dice(number), len(case.capacity) - 1
        longer, jobs = ref.settled(case.capacity, case.stages)
        asked = []
        for place in range(rng.randint(1, 3)):
            first = rng.randint(0, last)
            asked.append(
                Stage(
                    f"{core.OWN} (day {place})",
                    f"{core.OWN} (day {place})",
                    0,
                    rng.randint(1, 1 + max(case.capacity)),
                    first,
                    rng.randint(first, min(last, first + 1)),
                )
            )
        held: dict[str, int] = {}
        rows = list(jobs)
        for day in sorted(asked, key=lambda stage: (stage.due, stage.id)):
            most = ref.max_flow(longer, [*rows, day]) - sum(row.processing for row in rows)
            held[day.id] = most
            rows.append(core.Stage(day.id, day.ticket, 0, most, day.release, day.due))
            cut += most < day.processing
        plan = core.own_plan(case.capacity, case.stages, case.weeks, case.target, days=asked)
        stages = {stage.id: stage.processing for stage in plan.stages if stage.id in held}
        assert stages == {name: minutes for name, minutes in held.items() if minutes}
        kept = ref.own_by_flow(longer, rows, case.weeks, case.target)
        assert [week.kept for week in plan.weeks] == kept
        on_days = [
            sum(held[day.id] for day in asked if first <= day.due <= end)
            for first, end in case.weeks
        ]
        assert [week.on_days for week in plan.weeks] == on_days
        assert ref.feasible(longer, [*jobs, *plan.stages])
    assert cut > 20
