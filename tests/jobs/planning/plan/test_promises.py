"""The date kept nine times out of ten, from timed work."""

from datetime import time, timedelta
from statistics import NormalDist

import pytest

from jobs.planning import core
from jobs.planning.plan.promises import (
    NEEDED,
    AskedJob,
    AskedOperation,
    Promises,
    asked_for,
    likely,
)
from tests.jobs.planning.books import MONDAY, at, book, is_open, job, work


def timed(*ratios, operation="Hem"):
    return [core.Timed(operation, 60, round(60 * ratio)) for ratio in ratios]


def ask(week_book, asked):
    return Promises(week_book, asked, time(17), is_open)


def look(week_book, asked, history):
    promises = ask(week_book, asked)
    honest = promises.honest()
    return likely(promises, history, honest.kept, honest.fittings)


def hem(minutes):
    return asked_for([AskedOperation("Hem", minutes)])


def test_below_five_timed_jobs_nothing_is_said():
    few = look(book(), hem(60), timed(1, 1, 1, 1))
    assert (few.known, few.timed, few.day) == (False, 4, None)
    assert look(book(), hem(60), timed(*[1] * NEEDED)).day == MONDAY


def test_work_that_takes_longer_than_noted_is_likely_later():
    # 7 h fit the 8 h of Monday; at half as long again they do not.
    assert look(book(), hem(420), timed(*[1.5] * 20)).day > MONDAY
    assert look(book(), hem(420), timed(*[0.5] * 20)).day == MONDAY


def test_the_work_before_it_counts_by_its_own_operation():
    week_book = book(job("26-0001", at(0), work(1, 240, name="Zip")))
    history = [*timed(*[1] * 20), *timed(*[2] * 20, operation="Zip")]
    assert look(week_book, hem(120), history).day > MONDAY
    assert look(week_book, hem(120), timed(*[1] * 20)).day == MONDAY


def test_it_is_never_before_the_honest_date():
    week_book = book(job("26-0001", at(0), work(1, 460)))
    promises = ask(week_book, hem(60))
    honest = promises.honest()
    assert honest.kept == MONDAY + timedelta(days=1)
    assert likely(promises, timed(*[0.3] * 20), honest.kept).day == honest.kept


def test_own_hours_are_kept_too():
    # 400 minutes of the week are not the owner's: 300 are, at half as long again, too much.
    assert look(book(own=2000), hem(300), timed(*[1] * 20)).day == MONDAY
    assert look(book(own=2000), hem(300), timed(*[1.5] * 20)).day > MONDAY


def test_after_a_fitting_all_of_the_work_counts():
    pieces = [AskedOperation("Hem", 300, before=True), AskedOperation("Hem", 420, after=True)]
    tuesday = MONDAY + timedelta(days=1)
    assert look(book(), asked_for(pieces), timed(*[0.5] * 20)).day == tuesday
    assert look(book(), asked_for(pieces), timed(*[1.5] * 20)).day > tuesday


def test_the_same_question_has_the_same_answer():
    week_book = book(job("26-0001", at(3), work(1, 1200)), job("26-0002", at(4), work(2, 300)))
    history = timed(*[0.7, 1.1, 1.4, 1.2, 0.9, 1.6])
    first = look(week_book, hem(240), history)
    assert first.day is not None
    assert look(book(*week_book.jobs[::-1]), hem(240), history[::-1]) == first


def test_nothing_is_said_of_work_without_minutes_or_without_a_date():
    history = timed(*[1] * 9)
    assert look(book(), AskedJob((0,)), history).day is None
    assert likely(ask(book(), hem(60)), history, None).day is None


def test_several_operations_are_drawn_one_by_one():
    # Two independent halves are less uncertain than one whole: the 95 % quantile of a log-normal
    # of 100 with spread s is 100 exp(1.645 s); of two of 50 it is clearly below that.
    calendar = core.Calendar((1,) * 400)
    ratios = core.Ratios(core.Ratio(spread=0.4))

    def guess(name, minutes):
        return core.GuessedStage(core.Stage(name, name, 0, minutes, 0, 0), "any")

    whole = core.chance_by_date(calendar, [], guess("a", 100), ratios, futures=2000)
    halves = core.chance_by_date(
        calendar, [], [guess("a", 50), guess("b", 50)], ratios, futures=2000
    )
    quantile = 100 * NormalDist().inv_cdf(0.95)
    first_whole = next(day for day, chance in enumerate(whole) if chance >= 0.95) + 1
    first_half = next(day for day, chance in enumerate(halves) if chance >= 0.95) + 1
    assert quantile == pytest.approx(164.5, abs=0.1)
    assert first_whole == pytest.approx(100 * 2.718281828 ** (1.6449 * 0.4), rel=0.05)
    assert first_half < first_whole - 15
