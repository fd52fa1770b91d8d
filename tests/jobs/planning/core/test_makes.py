"""Makes that fit, against looking at every set of them."""

from itertools import chain, combinations

import pytest

from jobs.planning.core import Make, PlanningError, spare, suggest
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import random_case
from tests.jobs.planning.core.making import dice, job


def best_by_trying(capacity, jobs, makes, by):
    """Heat and fewest minutes of the best set that fits beside the jobs, by maximum flow."""
    best = (0, 0)
    sets = chain.from_iterable(combinations(makes, size) for size in range(len(makes) + 1))
    for chosen in sets:
        wanted = [
            job(f"make {m.id}", m.minutes, 0, by if m.wear_by is None else min(m.wear_by, by))
            for m in chosen
        ]
        if ref.feasible(capacity, [*jobs, *wanted]):
            best = max(best, (sum(m.heat for m in chosen), -sum(m.minutes for m in chosen)))
    return best


def test_the_best_set_of_all():
    for number in range(60):
        case, rng = random_case(number), dice(number)
        by = len(case.capacity) - 1 - number % 2
        makes = [
            Make(
                str(i),
                rng.randint(0, max(1, sum(case.capacity) // 4)),
                rng.choice([None, rng.randint(0, by + 1)]),
                rng.randint(0, 3),
            )
            for i in range(5)
        ]
        longer, jobs = ref.settled(case.capacity, case.stages)
        found = suggest(case.capacity, case.stages, makes, by)
        heat = {make.id: make.heat for make in makes}
        chosen = [one for one in found if one.chosen]
        reached = (sum(heat[one.make] for one in chosen), -sum(one.minutes for one in chosen))
        assert reached == best_by_trying(longer, jobs, makes, by)
        most = spare(case.capacity, case.stages)
        assert all(one.spare == most[one.due] for one in found)
        assert all(one.fits == (one.minutes <= one.spare) for one in found)


def test_what_is_missing_and_what_is_not_ready():
    makes = [
        Make("pyjamas", 100),
        Make("shirt", 90, wear_by=0),
        Make("tote", 30),
        Make("coat", 10, ready=False),
    ]
    found = suggest([60, 60], [job("hem", 20, 0, 1)], makes, by=1)
    assert [(one.make, one.chosen, one.short, one.due) for one in found] == [
        ("tote", True, 0, 1),
        ("shirt", False, 30, 0),
        ("pyjamas", False, 0, 1),
    ]


def test_a_wear_by_in_the_past_counts_as_the_last_day():
    assert [one.due for one in suggest([60, 60], [], [Make("dress", 30, wear_by=-4)], 1)] == [1]


def test_nonsense_is_refused():
    with pytest.raises(PlanningError, match="negative"):
        suggest([60], [], [Make("tote", -1)], 0)
    with pytest.raises(IndexError):
        suggest([60], [], [], 1)
