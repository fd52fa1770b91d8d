"""Small books on which a tempting shorter rule gives the wrong answer.

Each was worked out by hand; the comment says what the shorter rule would answer.
"""

import pytest

from jobs.planning.core import (
    Calendar,
    Stage,
    bottleneck,
    edf,
    fewest_moved,
    fits,
    lateness,
    least_overtime,
    must_do,
    own_minutes,
    plan_weeks,
    share_stages,
)
from tests.jobs.planning.core.books import job
from tests.jobs.planning.core.references import fewest_late, network_flow


def recurrence(capacity: list[int], book: list[Stage]) -> list[int]:
    """m(T-1) = D(T-1) and m(w) = max(D(w), m(w+1) - c(w+1)): right where all windows fit."""
    due = [sum(s.processing for s in book if s.due <= by) for by in range(len(capacity))]
    for by in range(len(due) - 2, -1, -1):
        due[by] = max(due[by], due[by + 1] - capacity[by + 1])
    return due


def must_do_by(capacity: list[int], book: list[Stage]) -> list[int]:
    return [must_do(capacity, book, by).minutes for by in range(len(capacity))]


def test_a_weekly_budget_for_clients_is_not_the_weeks_share():
    capacity, weeks = [100, 0, 0, 0, 100, 0, 0, 100], [(0, 6)]
    book = [job("A", 100, 0, 7), job("B", 60, 4, 4)]
    # A budget of 140 client minutes is burnt by A on day 0, and B is 20 short on day 4.
    assert least_overtime([100, 0, 0, 0, 140 - 100, 0, 0, 100], book) == 20
    assert fits(capacity, [*book, *share_stages(weeks, 60)])
    assert own_minutes(capacity, book, weeks, 60) == [60]


def test_a_share_off_every_day_is_not_the_weeks_share():
    book = [job("A", 80, 0, 0)]
    assert not fits([70, 70], book)
    assert fits([100, 100], [*book, *share_stages([(0, 1)], 60)])


def test_the_must_do_recurrence_is_wrong_on_an_overfull_book():
    book = [job("X", 100, 1, 1)]
    # The bare recurrence asks for 40 minutes on day 0, before X is there.
    assert recurrence([60, 60], book) == [40, 100]
    assert bottleneck([60, 60], book).excess == 40
    answer = must_do([60, 60], book, 0)
    assert (answer.minutes, answer.binding_due, answer.relaxed) == (0, None, True)
    assert must_do_by([60, 60], book) == [0, 60]


def test_earliest_due_first_makes_more_late_than_need_be():
    calendar = Calendar((300,), (300,))
    book = [job("A", 620, 0, 0), job("B", 30, 0, 1)]
    assert lateness(calendar, book) == {"A": 2, "B": 1}
    # A alone moved, B is on time.
    assert fewest_moved([300] * 3, book, {"A": 620, "B": 30}).tickets == ("A",)


def test_must_do_counts_work_that_has_not_arrived():
    capacity = [0, 0, 0, 0, 0, 60, 60, 60, 0, 0]
    book = [job("X", 120, 6, 8), job("Y", 60, 0, 9)]
    answer = must_do(capacity, book, 6)
    assert answer.minutes == 120
    assert answer.plan[5:] == ((("Y", 60),), (("X", 60),))


def test_total_repair_is_more_than_the_worst_window():
    book = [job("A", 70, 0, 0), job("B", 70, 2, 2)]
    assert bottleneck([60, 60, 60], book).excess == 10
    assert least_overtime([60, 60, 60], book) == 20


def test_who_has_to_move_depends_on_when_work_may_begin():
    book = [job("1", 1, 0, 0), job("2", 2, 2, 2)]
    # Releases ignored, Moore's rule says that nobody is late.
    assert fewest_late([1, 1, 1], book) == []
    assert not edf([1, 1, 1], book).feasible
    assert fewest_moved([1, 1, 1], book, {"1": 1, "2": 2}).tickets == ("2",)


def test_pieces_can_make_a_book_too_tight():
    book = [job(name, 25, 0, 1) for name in "ABC"]
    assert fits([40, 40], book)
    plan = plan_weeks(Calendar((40, 40)), book, [], 0, min_piece=15)
    assert plan.tight == ((1, "B", 10),)


def test_two_pairs_of_hands_may_not_be_added_up():
    book = [job("A", 60, 0, 1), job("B", 60, 0, 1), job("C", 120, 0, 1)]
    pooled = edf([120, 120], book)
    # Pooled, C is worked 120 minutes on day 1, where each of the two is there for 60.
    assert max(minutes for _, _, minutes in pooled.pieces) == 120
    assert network_flow([120, 120], book, each_day=60) == 240
    single = [job("D", 120, 0, 0)]
    assert edf([120], single).feasible
    assert network_flow([120], single, each_day=60) == 60


def test_must_do_is_found_anew_after_working_ahead():
    capacity = [120, 120, 120, 210, 300]
    book = [job("a", 113, 0, 0), job("b", 32, 1, 1), job("c", 219, 0, 4), job("d", 300, 4, 4)]
    curve = must_do_by(capacity, book)
    assert curve == recurrence(capacity, book) == [113, 145, 154, 364, 664]
    assert edf(capacity, book).allocation[0] == (("a", 113), ("c", 7))
    # 120 minutes done, the totals ask for 145 - 120 = 25 on day 1; b alone needs 32.
    rest = [job("b", 32, 0, 0), job("c", 212, 0, 3), job("d", 300, 3, 3)]
    assert must_do(capacity[1:], rest, 0).minutes == 32
    assert curve[1] - 120 == 25


def test_own_minutes_of_later_weeks_are_not_capacity_less_must_do():
    capacity, weeks = [60, 60, 0, 60], [(0, 1), (2, 3)]
    book = [job("A", 60, 0, 3), job("B", 60, 2, 3)]
    curve = must_do_by(capacity, book)
    totals = [120 - curve[1], 60 - (curve[3] - curve[1])]
    assert [min(30, free) for free in totals] == [30, 0]
    assert own_minutes(capacity, book, weeks, [30, 60]) == [30, 0]


def test_a_fitting_at_noon_cuts_the_day():
    assert fits([120], [job("A", 100, 0, 0)])
    assert not fits([60, 60], [job("A", 100, 0, 0)])


@pytest.mark.parametrize("first", range(1, 16))
def test_the_weekdays_stay_in_step_however_often_a_calendar_is_extended(first):
    calendar = Calendar((5,), (10, 20, 30, 40, 50, 60, 0))
    once, twice = calendar.extended(40), calendar.extended(first).extended(40)
    assert once == twice
    assert once.capacity[:9] == (5, 10, 20, 30, 40, 50, 60, 0, 10)
    assert [calendar.at(day) for day in range(60)] == list(twice.extended(60).capacity)


def test_a_last_stage_without_minutes_keeps_its_date():
    book = [Stage("sew", "t", 0, 100, 0, 5), Stage("hand over", "t", 1, 0, 0, 0)]
    calendar = Calendar((60,), (60,))
    # Left out without a word, it would take the day 0 with it and nothing would be late.
    assert lateness(calendar, book) == {"sew": 1, "hand over": 1}
