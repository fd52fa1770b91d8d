"""Chances of dates, against living through every future with the newcomer in it."""

from dataclasses import replace
from statistics import fmean

import pytest

from jobs.planning.core import (
    Calendar,
    GuessedStage,
    PlanningError,
    Ratio,
    Ratios,
    Stage,
    Timed,
    chance_by_date,
    earliest_due,
    fit_ratios,
    likely_date,
    promise,
)
from jobs.planning.core.likely_dates import draw
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


def test_certain_work_is_certain():
    calendar = Calendar((60, 0, 60), (60,))
    work, new = [GuessedStage(job("A", 50, 0, 2))], GuessedStage(job("new", 80, 0, 0))
    promised = promise(calendar, work, new, RATIOS, futures=3)
    assert promised.due == earliest_due(calendar, [work[0].stage], 80, 0) == 3
    assert (promised.chance, set(promised.curve)) == (1, {0.0, 1.0})


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.9, 0.95])
def test_the_promised_date_is_likely_enough_and_none_before_it_is(confidence):
    calendar = Calendar((120, 200, 0, 240, 180), (240, 240, 0))
    work = [GuessedStage(job(str(i), 60 + 20 * i, 0, 2 + i), "hem", 15 * i) for i in range(5)]
    new, days = GuessedStage(job("new", 90, 0, 0), "zip"), range(0, 90, 2)
    promised = promise(calendar, work, new, RATIOS, confidence=confidence, allowed=days)
    assert promised.due in days
    assert promised.due >= promised.earliest
    assert promised.chance == promised.curve[promised.due] >= confidence
    before = [day for day in days if promised.earliest <= day < promised.due]
    assert all(promised.curve[day] < confidence for day in before)
    assert likely_date(promised.curve, promised.earliest, confidence, days) == promised.due
    assert (
        promise(calendar, work[::-1], new, RATIOS, confidence=confidence, allowed=days) == promised
    )


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
        promised = promise(calendar, work, new, ratios, confidence=0.8)
        chances.append(promised.chance)
        kept.append(chance_by_date(calendar, work, new, ratios, futures=100, seed=99)[promised.due])
    assert fmean(kept) == pytest.approx(fmean(chances), abs=0.03)
    assert min(chances) >= 0.8


def test_another_ticket_changes_no_draw():
    first = draw(GuessedStage(job("A", 60, 0, 2), "hem"), RATIOS, 50, 1)
    assert first == draw(GuessedStage(job("A", 60, 3, 9), "hem"), RATIOS, 50, 1)
    assert first != draw(GuessedStage(job("B", 60, 0, 2), "hem"), RATIOS, 50, 1)
    assert len(set(first)) > 20


def test_a_confidence_outside_0_and_1_is_refused():
    with pytest.raises(PlanningError, match="between 0 and 1"):
        promise(
            Calendar((60,), (60,)), [], GuessedStage(job("new", 10, 0, 0)), RATIOS, confidence=1
        )
