"""Each day of the promise calendar: safe, at the cost of own hours, too full; and how likely."""

from datetime import time

import pytest

from jobs.planning.core import Timed, chance_by_date, fit_ratios
from jobs.planning.honest_date import DayState, WeekAnswer, promise_calendar
from jobs.planning.models import PlanRules
from jobs.planning.plan.promises import (
    AskedJob,
    AskedOperation,
    LikelyDay,
    Promises,
    asked_for,
    likely,
)
from jobs.planning.plan.rush import cost
from jobs.planning.queries import StudioWeek
from tests.jobs.planning.books import MONDAY, at, book, is_open, job, work
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import dice
from tests.jobs.planning.plan.test_another_day import random_book


class Hours:
    shifts = True

    @staticmethod
    def is_open(day):
        return is_open(day)


def answer_of(week, asked, history=()) -> WeekAnswer:
    """The answer of a book by hand, with these timed jobs."""
    promises = Promises(week, asked, time(17), is_open)
    studio_week = StudioWeek(week, Hours, PlanRules(), *([] for _ in range(8)))
    answer = WeekAnswer(studio_week, promises, promises.honest(28))
    answer.__dict__["likely"] = likely(
        promises, history, answer.honest.kept, answer.honest.fittings
    )
    return answer


def test_the_three_states_by_hand():
    """480 a day. A has 700 by Tuesday; 300 asked; own 1,500 of the week's 2,400.

    Until Monday 480 - 220 (A's share that Tuesday cannot hold) = 260 < 300: too full. Until Tuesday
    960 - 700 = 260: too full. From Wednesday on there is room, but the week keeps 1,500 + 700 of
    2,400: 200 are spare beside them, so 100 are taken. Next week 2,400 - 1,500 are spare.
    """
    days = promise_calendar(
        answer_of(book(job("A", at(1), work(1, 700)), own=1500), AskedJob((300,)))
    )
    assert [(row.state.name, row.own) for row in days[:8]] == [
        ("FULL", 0), ("FULL", 0), ("OWN", 100), ("OWN", 100), ("OWN", 100),
        ("CLOSED", 0), ("CLOSED", 0), ("SAFE", 0),
    ]  # fmt: skip
    assert [row.rush for row in days[:8]] == [False, False, True, True, True, False, False, False]
    assert len(days) == 28
    assert {row.chance for row in days} == {None}


def test_own_minutes_and_states_by_maximum_flow():
    """On many books: what the newcomer takes is what the owner's flow beside clients loses."""
    seen = dict.fromkeys(DayState, 0)
    for number in range(80):
        rng = dice(number)
        week = random_book(rng).let_loose
        if week.plan.relaxed:
            continue
        asked = rng.choice([60, 200, 500])
        jobs = list(week.prepared)
        before = sum(ref.own_by_flow(week.capacity, jobs, week.weeks, week.own_whole))
        for row in promise_calendar(answer_of(week, AskedJob((asked,))), 12):
            seen[row.state] += 1
            if row.state is DayState.CLOSED:
                continue
            due = week.bench.last_before(at((row.day - MONDAY).days))
            new = [*jobs, ref.Stage("new", "new", 0, asked, 0, due)]
            fits = ref.feasible(week.capacity, new)
            assert fits == (row.state is not DayState.FULL)
            if fits:
                after = sum(ref.own_by_flow(week.capacity, new, week.weeks, week.own_whole))
                assert row.own == before - after
                assert bool(row.own) == (row.state is DayState.OWN)
    assert min(seen.values()) > 20


def test_it_says_the_same_as_the_cost_of_a_day_with_a_fitting_to_come():
    week = book(job("A", at(3), work(1, 900)), own=1500)
    asked = asked_for(
        [AskedOperation("bodice", 200, before=True), AskedOperation("hem", 100, after=True)]
    )
    answer = answer_of(week, asked)
    taken = 0
    for row in promise_calendar(answer, 12):
        if row.state is DayState.OWN:
            lost = cost(answer.promises, row.day).lost
            assert row.own == sum(minutes for _, minutes in lost)
            taken += 1
    assert taken


def test_every_day_has_its_chance():
    history = [Timed("hem", 60, minutes) for minutes in (50, 60, 75, 90, 110, 65)]
    week = book(*(job(f"T{n}", at(n), work(n, 300, name="hem")) for n in range(5)), own=600)
    asked = asked_for([AskedOperation("hem", 240)])
    answer = answer_of(week, asked, history)
    days = {row.day: row for row in promise_calendar(answer)}
    curve = answer.likely.curve
    shown = [row for row in days.values() if row.state in {DayState.SAFE, DayState.OWN}]
    assert [row.chance for row in shown] == [curve.get(row.day) for row in shown]
    assert answer.likely.chances == {
        day: chance for day, chance in curve.items() if day < answer.likely.day
    }
    assert curve[answer.likely.day] >= answer.likely.percent
    some = next(row for row in shown if row.chance)
    assert some.in_ten == some.chance // 10
    assert all(row.chance is None for row in days.values() if row.state is DayState.FULL)


@pytest.mark.parametrize("until", [3, 12, 40])
def test_a_curve_that_ends_sooner_says_the_same(until):
    """The same draws planned to the end: no date before it is told otherwise."""
    from tests.jobs.planning.core.books import long_calendar, random_case
    from tests.jobs.planning.core.test_chances import guesses

    ratios = fit_ratios([Timed("hem", 10, 13), Timed("hem", 10, 9)])
    for number in range(20):
        case, work_left = random_case(number), guesses(number)
        calendar, _ = long_calendar(case)
        whole = chance_by_date(calendar, work_left, work_left[:1], ratios, futures=20)
        short = chance_by_date(calendar, work_left, work_left[:1], ratios, until=until, futures=20)
        both = min(len(whole), len(short))
        assert short[:both] == whole[:both]


def test_too_few_timed_jobs_have_no_chance():
    assert LikelyDay(3, 80).chances == {}
