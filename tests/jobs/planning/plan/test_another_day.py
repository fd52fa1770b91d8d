"""A lifted block: each day's answer by hand, and by maximum flow on many books made by chance."""

from dataclasses import replace
from datetime import date, timedelta
from random import Random

import pytest

from jobs.planning.core import Stage
from jobs.planning.plan.another_day import each_day, own_each_day
from jobs.planning.plan.workload import DayTrouble, OwnDay
from tests.jobs.planning.books import MONDAY, at, book, fitting, job, work
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import dice

WEEK = [MONDAY + timedelta(days=ahead) for ahead in range(7)]
DAY = 480
BOOKS = 120


def by_day(answers) -> dict[int, object]:
    return {(answer.day - MONDAY).days: answer for answer in answers}


def is_free(answer) -> bool:
    """Nobody's promise and none of the owner's hours are touched."""
    return not (answer.trouble or answer.late or answer.cost)


def test_each_day_of_a_week_says_what_it_costs():
    """480 minutes a day. A: 300 by Tuesday. B: 400 by Wednesday. The lifted C: 200 by Friday.

    Own: 1,200 of the week's 2,400 minutes. By hand: clients take 900, so 1,200 own minutes fit,
    wherever C lies. On Monday there is room for it (300 + 400 + 200 by Wednesday of 1,440).
    """
    week = book(
        job("A", at(1), work(1, 300)),
        job("B", at(2), work(2, 400)),
        job("C", at(4), work(3, 200)),
        own=1200,
    )
    answers = by_day(each_day(week, {"line-3"}, WEEK))
    assert all(is_free(answers[day]) and answers[day].holds == 3 for day in range(5))
    assert answers[5].trouble is answers[6].trouble is DayTrouble.CLOSED


def test_what_it_takes_of_own_hours_and_whose_promise():
    """Monday: A has 450 of the 480 minutes, due then. C's 200 would make A one day late, by 170."""
    week = book(job("A", at(0), work(1, 450)), job("C", at(4), work(3, 200)), own=1950)
    answers = by_day(each_day(week, {"line-3"}, WEEK))
    assert [(row.ticket, row.days) for row in answers[0].late] == [("A", 1)]
    assert (answers[0].short, answers[0].holds) == (170, 1)
    # All the week's 2,400 minutes: 450 A, 200 C, 1,750 left for the owner wherever C lies.
    assert [answers[day].cost for day in range(1, 5)] == [0, 0, 0, 0]


def test_a_day_takes_own_minutes_that_two_weeks_shared():
    """Each week has 2,400 minutes and wants 2,300: loose, C takes the spare 100 of both weeks."""
    week = book(job("C", at(11), work(3, 200)), own=2300)
    asked = [MONDAY + timedelta(days=ahead) for ahead in (3, 8)]
    assert [answer.cost for answer in each_day(week, {"line-3"}, asked)] == [100, 100]


def test_too_full_by_so_many_minutes_closed_and_past():
    week = book(job("C", at(4), work(3, 500)), now=at(1, "09:00"))
    answers = by_day(each_day(week, {"line-3"}, WEEK))
    assert answers[0].trouble is DayTrouble.PAST
    assert [answers[day].trouble for day in range(1, 5)] == [DayTrouble.FULL] * 4
    assert {answers[day].short for day in range(1, 5)} == {20}


def test_a_day_after_its_own_promise_breaks_that_promise_alone():
    week = book(job("C", at(1), work(3, 100)), job("A", at(4), work(1, 60)))
    answers = by_day(each_day(week, {"line-3"}, WEEK))
    assert [(row.ticket, row.days) for row in answers[3].late] == [("C", 2)]
    assert answers[3].holds == 1
    assert answers[3].may_be_chosen
    (late,) = answers[3].late
    assert not replace(answers[3], late=(replace(late, fitting=True),)).may_be_chosen


def test_a_fitting_stands_in_the_way():
    """The bodice before the fitting on Wednesday noon, the hem after it."""
    tried_on = fitting(2, "12:00")
    week = book(job("C", at(4), work(1, 100), work(2, 60, after=1, order=20), fittings=[tried_on]))
    bodice = by_day(each_day(week, {"line-1"}, WEEK))
    assert is_free(bodice[1])
    assert is_free(bodice[2])
    assert bodice[3].trouble is DayTrouble.TOO_LATE
    hem = by_day(each_day(week, {"line-2"}, WEEK))
    assert hem[1].trouble is DayTrouble.TOO_EARLY
    assert is_free(hem[2])


def test_the_work_before_it_goes_along_and_that_after_it_waits():
    """On one garment: the hem on Tuesday makes the bodice due on Tuesday. B's garment is free."""
    garment_b = work(9, 50, garment="B", day=WEEK[4])
    held = book(job("C", at(4), work(1, 100), work(2, 60, order=20, day=WEEK[1]), garment_b))
    windows = {stage.id: (stage.release, stage.due) for stage in held.prepared}
    assert windows["line-2"] == (1, 1)
    assert windows["line-1"] == (0, 1)
    assert windows["line-9"] == (4, 4)
    answers = by_day(each_day(held, {"line-1"}, WEEK))
    assert answers[2].trouble is DayTrouble.ORDER
    assert is_free(answers[1])


def test_own_minutes_on_a_day():
    """Monday is full of a client's 450: 30 of the owner's fit, 90 are 60 too many."""
    week = book(job("A", at(0), work(1, 450)), own=600)
    answers = by_day(own_each_day(week, 90, WEEK))
    assert (answers[0].trouble, answers[0].short) == (DayTrouble.FULL, 60)
    assert [is_free(answers[day]) for day in range(1, 5)] == [True] * 4
    assert answers[6].trouble is DayTrouble.CLOSED


def test_a_block_that_no_longer_fits_says_so_and_breaks_no_promise():
    """C's 200 were put on Monday; then A came with 450 for Monday: 170 minutes are missing."""
    week = book(job("A", at(0), work(1, 450)), job("C", at(4), work(3, 200, day=MONDAY)))
    (risk,) = week.load.at_risk
    assert (risk.job.ticket, risk.day, risk.why, risk.short) == ("C", MONDAY, DayTrouble.FULL, 170)
    assert week.plan.relaxed is False
    assert sum(minutes for _, minutes in week.plan.days[0]) == 480


def test_a_block_of_yesterday_is_told_and_planned_as_before():
    week = book(job("C", at(4), work(3, 200, day=MONDAY)), now=at(1, "09:00"))
    (risk,) = week.load.at_risk
    assert risk.why is DayTrouble.PAST
    assert week.plan.days[0] == (("line-3", 200),)


def test_own_minutes_that_lost_their_day_are_told():
    week = book(job("A", at(0), work(1, 450)), own=600, own_days=(OwnDay(MONDAY, 90),))
    assert [(own.day, missing) for own, missing in week.own_at_risk] == [(MONDAY, 60)]


def random_book(rng: Random):
    """Two to five tickets of one or two garments, own hours, and blocks put on days."""
    jobs, line = [], 0
    load = rng.choice([60, 150, 300, 450])
    for number in range(rng.randint(2, 5)):
        works = []
        for garment in "AB"[: rng.randint(1, 2)]:
            for order in range(rng.randint(1, 2)):
                line += 1
                day = rng.choice([None] * 5 + WEEK[:5])
                minutes = rng.randint(10, load)
                works.append(work(line, minutes, garment=garment, order=order, day=day))
        promise = at(rng.choice([0, 1, 2, 3, 4, 7, 8]), rng.choice(["17:00", "12:00"]))
        jobs.append(job(f"26-{number:04}", promise, *works))
    return book(*jobs, own=rng.choice([0, 600, 1500, 2300]))


def window_of(week, promise, day: date | None) -> tuple[int, int]:
    """Reckoned from the clock: the buckets until the promise, and of them those of the day."""
    inside = [
        place
        for place, bucket in enumerate(week.bench.buckets)
        if bucket.ends <= promise and (day is None or bucket.day == day)
    ]
    return (inside[0], inside[-1]) if inside else (1, 0)


def stages_of(week, days: dict[str, date]) -> list[Stage] | None:
    """The windows of everything, each garment in its order; None where they contradict."""
    rows = []
    for planned in week.jobs:
        for piece in planned.works:
            first, last = window_of(week, planned.promise_at, days.get(piece.stage))
            if first > last:
                return None
            strand = f"{planned.ticket} {piece.garment}"
            rows.append(Stage(piece.stage, strand, piece.order, piece.minutes, first, last))
    narrowed = ref.closure(rows)
    return None if any(row.release > row.due for row in narrowed) else ref.work(rows)


def own_of(week, stages) -> int:
    return sum(ref.own_by_flow(week.capacity, stages, week.weeks, week.own_whole))


def test_each_day_against_maximum_flow():
    """Holds or not, the own minutes lost, and the minutes missing; on books whose blocks hold."""
    asked = {"free": 0, "cost": 0, "late": 0, "full": 0}
    for number in range(BOOKS):
        rng = dice(number)
        week = random_book(rng)
        now = stages_of(week, week.load.on_days)
        assert now is not None
        if not ref.feasible(week.capacity, now):
            continue
        before = own_of(week, now)
        lifted = rng.choice(list(week.load.works))
        chosen = week.load.works[lifted]
        for answer in each_day(week, {lifted}, WEEK[:5]):
            moved = stages_of(week, week.load.on_days | {lifted: answer.day})
            if moved is None:
                assert answer.trouble is DayTrouble.ORDER or answer.late
                continue
            total = sum(row.processing for row in moved)
            (alone,) = [row for row in moved if row.id == lifted]
            missing = chosen.minutes - ref.max_flow(week.capacity, [alone])
            if missing:
                assert (answer.trouble, answer.short) == (DayTrouble.FULL, missing)
                asked["full"] += 1
            elif ref.feasible(week.capacity, moved):
                lost = max(0, before - own_of(week, moved))
                assert (answer.trouble, answer.late, answer.cost) == (None, (), lost)
                assert answer.holds == len(week.jobs)
                asked["cost" if lost else "free"] += 1
            else:
                assert answer.trouble is None
                assert answer.late
                assert answer.short == total - ref.max_flow(week.capacity, moved)
                asked["late"] += 1
    assert min(asked.values()) >= 5, asked


def test_blocks_hold_if_and_only_if_they_can_all_hold():
    """With room for all, all are held; else those held, and the promises, fit by maximum flow."""
    held_all = let_go = 0
    for number in range(BOOKS, 2 * BOOKS):
        week = random_book(dice(number))
        free = stages_of(week, {})
        if free is None or not ref.feasible(week.capacity, free):
            continue
        put = {w.stage: w.day for planned in week.jobs for w in planned.works if w.day}
        everything = stages_of(week, put)
        held = stages_of(week, week.load.on_days)
        assert held is not None
        assert ref.feasible(week.capacity, held)
        if everything is not None and ref.feasible(week.capacity, everything):
            assert week.load.on_days == put
            assert not week.load.at_risk
            held_all += bool(put)
        elif everything is not None:
            assert {risk.why for risk in week.load.at_risk} == {DayTrouble.FULL}
            let_go += 1
        told = {w.stage for risk in week.load.at_risk for w in risk.works}
        assert told | week.load.on_days.keys() == put.keys()
        assert not told & week.load.on_days.keys()
    assert held_all >= 5
    assert let_go >= 4


@pytest.mark.parametrize("day", range(5))
def test_the_plan_sews_a_held_block_on_its_day(day):
    week = book(
        job("A", at(2), work(1, 300)), job("C", at(4), work(3, 200, day=WEEK[day])), own=300
    )
    days = {
        week.bench.buckets[bucket].day
        for bucket, pieces in enumerate(week.plan.days)
        for stage, _ in pieces
        if stage == "line-3"
    }
    assert days == {WEEK[day]}
