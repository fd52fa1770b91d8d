"""All questions on some random books; thousands are asked by ``check_planner``."""

from dataclasses import replace

import pytest

from jobs.planning.core import Stage, edf, fits
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import random_case
from tests.jobs.planning.core.check_planner import BOOKS
from tests.jobs.planning.core.questions import QUESTIONS
from tests.thorough import rounds

# None of those that the script asks.
CASES = range(BOOKS, BOOKS + rounds(75, 150))


@pytest.mark.parametrize("question", QUESTIONS)
def test_the_planner_answers_as_the_references_do(question):
    for number in CASES:
        QUESTIONS[question](random_case(number))


def test_feasibility_agrees_with_a_second_maximum_flow():
    for number in CASES:
        case = random_case(number)
        jobs = ref.work(case.stages)
        on_time = ref.network_flow(case.capacity, jobs) if jobs else 0
        assert fits(case.capacity, case.stages) == (on_time == sum(j.processing for j in jobs))


def test_the_order_of_a_ticket_costs_nothing():
    """Windows that agree are enough: a mixed-integer program that knows the order says the same."""
    answers = []
    for number in CASES:
        case = random_case(number)
        if len({s.ticket for s in case.stages}) < len(case.stages):
            answers.append(fits(case.capacity, case.stages))
            assert answers[-1] == ref.workable_in_order(case.capacity, case.stages)
    assert min(answers.count(True), answers.count(False)) > 15


def test_tomorrows_plan_is_the_rest_of_todays():
    for number in CASES:
        case = random_case(number)
        plan = edf(case.capacity, case.stages)
        if not plan.feasible:
            continue
        done = dict(plan.allocation[0])
        rest = [
            replace(
                s,
                processing=s.processing - done.get(s.id, 0),
                release=max(s.release - 1, 0),
                due=s.due - 1,
            )
            for s in case.stages
        ]
        assert edf(case.capacity[1:], rest).allocation == plan.allocation[1:]


def test_a_newcomer_moves_no_minute_of_work_that_is_due_before_it():
    for number in CASES:
        case = random_case(number)
        new = Stage("new", "~new", 0, case.processing, 0, len(case.capacity) // 2)
        due = {s.id: s.due for s in ref.closure([*case.stages, new])}

        def first(days, due=due, new=new):
            return [[piece for piece in day if due[piece[0]] < new.due] for day in days]

        before = edf(case.capacity, case.stages).allocation
        assert first(edf(case.capacity, [*case.stages, new]).allocation) == first(before)
