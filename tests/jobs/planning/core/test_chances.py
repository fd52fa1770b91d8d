"""Chances of dates, against living through every future with the newcomer in it."""

from dataclasses import replace
from statistics import fmean

import pytest

from jobs.planning.core import (
    Calendar,
    GuessedStage,
    Ratio,
    Ratios,
    Stage,
    Timed,
    chance_by_date,
    earliest_due,
    fit_ratios,
    likely_date,
    median_remaining,
)
from jobs.planning.core.dates import draw
from tests.jobs.planning.core.books import dice, job, long_calendar, random_case
from tests.jobs.planning.core.references import closure, live_through

RATIOS = fit_ratios([Timed("hem", 10, 13), Timed("hem", 10, 9), Timed("zip", 20, 31)])
FUTURES = 12


def guesses(number: int) -> list[GuessedStage]:
    rng = dice(number)
    return [
        GuessedStage(stage, rng.choice([None, "hem", "zip", "dart"]), rng.choice([0, 0, 5, 40]))
        for stage in closure(random_case(number).stages)
        if stage.processing
    ]


def test_chances_are_shares_of_futures_in_which_the_newcomer_is_done():
    for number in range(25):
        case, work = random_case(number), guesses(number)
        calendar, minutes = long_calendar(case)
        new = GuessedStage(Stage("new", "~new", 0, 1 + case.processing, case.release, 0), "hem")
        curve = chance_by_date(calendar, work, new, RATIOS, futures=FUTURES)
        assert curve[-1] == 1
        assert not any(curve[: case.release])
        drawn = [draw(guess, RATIOS, FUTURES, 1) for guess in work]
        newcomer = draw(new, RATIOS, FUTURES, 1)
        for due in range(case.release, len(curve), 3):
            kept = 0
            for future in range(FUTURES):
                book = [
                    replace(guess.stage, processing=lengths[future])
                    for guess, lengths in zip(work, drawn, strict=True)
                ]
                late = replace(new.stage, processing=newcomer[future], due=due)
                kept += live_through([*minutes, *minutes], [*book, late])["new"] <= due
            assert curve[due] == kept / FUTURES


def usual(guess):
    if guess.operation is None:
        return guess.stage.processing
    return median_remaining(guess.stage.processing, RATIOS.of(guess.operation), guess.spent)


def test_certain_work_is_certain():
    calendar = Calendar((60, 0, 60), (60,))
    work, new = [GuessedStage(job("A", 50, 0, 2))], GuessedStage(job("new", 80, 0, 0))
    curve = chance_by_date(calendar, work, new, RATIOS, futures=3)
    earliest = earliest_due(calendar, [work[0].stage], 80, 0)
    assert likely_date(curve, earliest, 0.9) == likely_date(curve, 0, 0.9) == earliest == 3
    assert set(curve) == {0.0, 1.0}


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.9, 0.95])
def test_the_promised_date_is_likely_enough_and_none_before_it_is(confidence):
    calendar = Calendar((120, 200, 0, 240, 180), (240, 240, 0))
    work = [GuessedStage(job(str(i), 60 + 20 * i, 0, 2 + i), "hem", 15 * i) for i in range(5)]
    new, days = GuessedStage(job("new", 90, 0, 0), "zip"), range(0, 90, 2)
    middle = [replace(guess.stage, processing=usual(guess)) for guess in work]
    earliest = earliest_due(calendar, middle, usual(new), 0, days)
    curve = chance_by_date(calendar, work, new, RATIOS)
    due = likely_date(curve, earliest, confidence, days)
    assert due in days
    assert due >= earliest
    assert curve[due] >= confidence
    assert all(curve[day] < confidence for day in days if earliest <= day < due)
    assert chance_by_date(calendar, work[::-1], new, RATIOS) == curve


def test_promises_are_kept_as_often_as_they_say():
    """Futures drawn with another seed keep them as often."""
    calendar, ratios = Calendar((120,) * 5, (120,)), Ratios(Ratio(0.1, 0.4, 0.1))
    chances, kept = [], []
    for book in range(40):
        rng = dice(book)
        work = [
            GuessedStage(job(f"{book} {i}", rng.randint(30, 120), 0, rng.randint(2, 6)), "hem")
            for i in range(8)
        ]
        new = GuessedStage(job(f"{book} new", 90, 0, 0), "hem")
        curve = chance_by_date(calendar, work, new, ratios)
        due = likely_date(curve, 0, 0.8)
        chances.append(curve[due])
        kept.append(chance_by_date(calendar, work, new, ratios, futures=100, seed=99)[due])
    assert fmean(kept) == pytest.approx(fmean(chances), abs=0.03)
    assert min(chances) >= 0.8


def test_another_ticket_changes_no_draw():
    first = draw(GuessedStage(job("A", 60, 0, 2), "hem"), RATIOS, 50, 1)
    assert first == draw(GuessedStage(job("A", 60, 3, 9), "hem"), RATIOS, 50, 1)
    assert first != draw(GuessedStage(job("B", 60, 0, 2), "hem"), RATIOS, 50, 1)
    assert len(set(first)) > 20
