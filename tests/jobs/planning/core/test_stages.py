"""Windows, orders and what is refused."""

from itertools import permutations

import pytest

from jobs.planning.core import (
    Calendar,
    HorizonError,
    NoBenchTimeError,
    NoDayError,
    PlanningError,
    Stage,
    WindowError,
    bottleneck,
    earliest_due,
    edf,
    fits,
    lateness,
    must_do,
    overtime,
    own_minutes,
    plan_weeks,
    prepare,
    room,
    share_stages,
    spare,
)
from tests.jobs.planning.core.books import job

DAILY = Calendar((60, 60, 60), (60,))


def test_windows_of_a_ticket_are_made_to_agree():
    book = [
        Stage("a", "t", 0, 10, 2, 9),
        Stage("b", "t", 1, 0, 4, 6),
        Stage("c", "t", 2, 10, 0, 8),
    ]
    assert prepare(book) == [Stage("a", "t", 0, 10, 2, 6), Stage("c", "t", 2, 10, 4, 8)]


def test_equal_numbers_have_no_order():
    book = [Stage("a", "t", 0, 10, 5, 9), Stage("b", "t", 0, 10, 0, 3)]
    assert prepare(book) == [book[1], book[0]]


def test_a_prepared_book_comes_back_as_it_is():
    book = prepare([job("A", 10, 0, 3)])
    assert prepare(book) is book
    assert prepare([*book, job("B", 10, 0, 1)])[0].id == "B"


def test_answers_do_not_depend_on_the_order_of_the_stages():
    book = [
        Stage("1a", "1", 0, 50, 0, 3),
        Stage("1b", "1", 1, 30, 1, 2),
        Stage("2", "2", 0, 40, 1, 2),
        Stage("3", "3", 0, 0, 0, 0),
        Stage("4", "4", 0, 25, 0, 2),
    ]
    calendar, weeks = Calendar((30, 50, 60, 20), (40,)), [(0, 1), (2, 3)]
    answers = {
        repr(
            (
                prepare(rows),
                edf(calendar.capacity, rows),
                sorted(lateness(calendar, rows).items()),
                must_do(calendar.capacity, rows, 1),
                spare(calendar.capacity, rows, 1),
                own_minutes(calendar.capacity, rows, weeks, 20),
                plan_weeks(calendar, rows, weeks, 20).days,
                overtime(calendar.capacity, rows),
            )
        )
        for rows in permutations(book)
    }
    assert len(answers) == 1


def test_a_fitting_after_the_promise_is_named():
    book = [Stage("sew", "26-0143", 0, 30, 0, 9), Stage("finish", "26-0143", 1, 30, 6, 4)]
    with pytest.raises(WindowError, match="finish of ticket 26-0143 cannot be started before bu"):
        prepare(book)


def test_a_contradiction_inside_a_ticket_is_named():
    book = [Stage("sew", "t", 0, 30, 6, 9), Stage("finish", "t", 1, 30, 0, 4)]
    with pytest.raises(WindowError) as refused:
        prepare(book)
    assert (refused.value.ticket, refused.value.release, refused.value.due) == ("t", 6, 4)


def test_twin_ids_and_negative_minutes_are_refused():
    with pytest.raises(PlanningError, match="same id"):
        prepare([job("A", 10, 0, 3), job("A", 20, 0, 4)])
    with pytest.raises(PlanningError, match="-5 minutes"):
        prepare([job("A", -5, 0, 3)])


def test_a_promise_in_the_past_is_due_now_and_counted_late():
    book = [job("A", 60, 0, -3), job("B", 60, 0, 1)]
    assert fits([60, 60], book)
    assert lateness(DAILY, book) == {"A": 3, "B": 0}
    assert bottleneck([30, 60], book).stages == ("A",)


def test_a_past_promise_that_waits_is_refused():
    with pytest.raises(WindowError):
        prepare([job("A", 60, 2, -3)])


def test_a_ticket_without_minutes_asks_for_nothing():
    book = [job("A", 0, 0, 1), job("B", 0, 0, -2)]
    assert prepare(book) == []
    assert lateness(DAILY, book) == {"A": -1, "B": 0}
    assert must_do(DAILY.capacity, book, 1).minutes == 0
    assert earliest_due(DAILY, book, 0, 1) == 1


def test_an_empty_book_is_all_free():
    least = must_do([60, 60], [], 1)
    assert (least.minutes, least.free, least.binding_due, least.plan) == (0, 120, None, ((), ()))
    assert spare([60, 60], []) == [60, 120]
    assert bottleneck([60, 60], []) is None
    assert edf([], []).allocation == ()


def test_of_two_reasons_the_earlier_is_given():
    book = [job("A", 50, 0, 1), job("B", 60, 0, 2), job("C", 60, 0, 3)]
    answer = room([60, 60, 60, 60], book, 0)
    assert (answer.minutes, answer.binding_due, answer.stages) == (60, 0, ())
    answer = room([60, 60, 60, 60], book, 1)
    assert (answer.minutes, answer.binding_due, answer.capacity, answer.demand) == (70, 1, 120, 50)
    answer = room([20, 60, 60, 60], book, 1, release=1)
    assert (answer.minutes, answer.binding_due, answer.stages) == (30, 1, ("A",))


def test_no_bench_time_at_all_is_said():
    empty = Calendar((0, 0), (0,) * 7)
    with pytest.raises(NoBenchTimeError, match="never holds 30 minutes"):
        earliest_due(empty, [], 30, 0)
    with pytest.raises(NoBenchTimeError):
        lateness(Calendar((60,)), [job("A", 90, 0, 0)])
    assert not fits([0, 0], [job("A", 1, 0, 1)])


def test_a_window_outside_the_capacity_is_refused():
    with pytest.raises(HorizonError, match="due in bucket 5, but the capacity given ends after 3"):
        edf([60] * 3, [job("A", 10, 0, 5)])
    with pytest.raises(HorizonError):
        earliest_due(DAILY, [], 10, 10**9)
    with pytest.raises(IndexError):
        must_do([60] * 3, [], 3)
    with pytest.raises(IndexError):
        spare([60] * 3, [], 3)
    with pytest.raises(IndexError):
        room([60] * 3, [], 1, 2)


def test_negative_bench_time_is_refused():
    with pytest.raises(PlanningError, match="fewer than 0"):
        edf([60, -1], [])
    with pytest.raises(PlanningError, match="fewer than 0"):
        Calendar((60,), (0, -1))


def test_days_that_are_never_allowed_are_said():
    with pytest.raises(NoDayError, match="at or after bucket 2"):
        earliest_due(DAILY, [], 150, 0, allowed={0, 1})


@pytest.mark.parametrize("weeks", [[(0, 6), (6, 8)], [(3, 2)], [(4, 5), (0, 1)]])
def test_weeks_that_overlap_or_run_backwards_are_refused(weeks):
    with pytest.raises(PlanningError, match="overlaps, runs backwards or leaves"):
        share_stages(weeks, 60)


def test_each_week_needs_a_target():
    with pytest.raises(PlanningError, match="one target"):
        own_minutes([60] * 8, [], [(0, 6), (7, 7)], [60])
    with pytest.raises(PlanningError, match="one target"):
        share_stages([(0, 6)], -1)
