"""What it costs to promise a job for a day, on small books counted by hand."""

from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from jobs.planning.plan.bench import cut_each_day
from jobs.planning.plan.promises import AskedJob, AskedOperation, Promises, asked_for
from jobs.planning.plan.rush import cost
from tests.jobs.planning.books import MONDAY, at, book, fitting, is_open, job, work

TUESDAY, WEDNESDAY, THURSDAY, FRIDAY = (MONDAY + timedelta(days=n) for n in range(1, 5))


def ask(week_book, asked, ready_by=time(17)):
    if isinstance(asked, int):
        asked = AskedJob((asked,))
    return Promises(week_book, asked, ready_by, is_open)


def with_fitting(before, after, booked=None):
    return asked_for(
        [
            AskedOperation("Body", before, before=True),
            AskedOperation("Hem", after, after=True),
        ],
        booked,
    )


def test_the_weeks_and_the_free_time_are_told():
    # 40 h a week; 30 h are promised by Friday, 8 h are the owner's, 2 h are nobody's.
    week_book = book(job("26-0001", at(4), work(1, 1800)), own=480)
    price = cost(ask(week_book, 180), FRIDAY)
    (week,) = price.weeks
    assert (week.kept_before, week.kept_after, week.lost) == (480, 420, 60)
    assert week.free_lost == 180
    assert (price.lost, price.free) == (((MONDAY, 60),), False)


def test_a_late_ticket_is_told_with_both_days():
    week_book = book(job("26-0001", at(1), work(1, 960)))
    (late,) = cost(ask(week_book, 600), TUESDAY).late
    assert (late.ticket, late.client) == ("26-0001", "Client of 26-0001")
    assert (late.instead, late.day, late.days) == (TUESDAY, THURSDAY, 2)


def test_what_is_late_anyhow_is_compared_with_when_it_would_be_done():
    # 10 h for the 8 h of Monday are done on Tuesday; 12 h more for Tuesday make it Wednesday.
    week_book = book(job("26-0001", at(0), work(1, 600)))
    (late,) = cost(ask(week_book, 720), TUESDAY).late
    assert (late.instead, late.day, late.days) == (TUESDAY, WEDNESDAY, 1)


def test_work_that_is_late_for_its_fitting_is_told_as_such():
    seams, hem = work(1, 480), work(2, 60, after=1, order=40)
    week_book = book(job("26-0001", at(4), seams, hem, fittings=[fitting(1, "09:00")]))
    (late,) = cost(ask(week_book, 120), MONDAY).late
    assert (late.fitting, late.instead, late.day) == (True, MONDAY, TUESDAY)


def test_later_on_the_same_day_is_late_too():
    week_book = book(job("26-0001", at(0, "12:00"), work(1, 180)))
    bench = cut_each_day(week_book.bench, time(11), 0)
    (late,) = cost(ask(type(week_book)(bench, week_book.jobs), 60, time(11)), MONDAY).late
    assert (late.day, late.days, late.fitting) == (MONDAY, 0, False)


def test_the_window_that_is_full():
    week_book = book(job("26-0002", at(1), work(1, 500)), job("26-0001", at(1), work(2, 300)))
    full = cost(ask(week_book, 300), TUESDAY).full
    assert (full.starts, full.ends) == (MONDAY, TUESDAY)
    assert (full.demand, full.capacity, full.excess) == (1100, 960, 140)
    assert full.tickets == ("26-0001", "26-0002")


def test_a_week_that_is_over_full_already_makes_nobody_later():
    # 22 h for the 16 h until Tuesday; a job for Friday is done behind them all.
    week_book = book(job("26-0001", at(1), work(1, 1320)))
    price = cost(ask(week_book, 300), FRIDAY)
    assert (price.fits, price.possible, price.late) == (False, True, ())


def test_the_fitting_that_breaks_no_promise_is_the_earliest():
    # Monday is full, so the 2 h before the fitting are sewn on Tuesday.
    week_book = book(job("26-0001", at(0), work(1, 480)))
    price = cost(ask(week_book, with_fitting(120, 60)), THURSDAY)
    assert (price.fits, price.fitting) == (True, TUESDAY)


def test_no_day_is_left_for_the_fitting():
    price = cost(ask(book(), with_fitting(60, 60)), MONDAY)
    assert (price.possible, price.lacks_fitting, price.full) == (False, True, None)


def test_where_every_fitting_breaks_a_promise_the_last_one_is_taken():
    # Three full days; the 9 h before the fitting need two of them.
    week_book = book(job("26-0001", at(2), work(1, 1440)))
    price = cost(ask(week_book, with_fitting(540, 60)), THURSDAY)
    assert (price.fits, price.fitting) == (False, WEDNESDAY)
    assert [late.ticket for late in price.late] == ["26-0001"]


def test_a_fitting_that_is_booked_stays_where_it_is():
    booked = fitting(2, "12:00")
    week_book = book(job("26-0001", at(2), work(1, 1200)), job("26-0009", at(4), fittings=[booked]))
    price = cost(ask(week_book, with_fitting(60, 240, booked)), WEDNESDAY)
    # 3 h to 12:00, 4 h 30 after it; the hem needs 4 h of those.
    assert (price.possible, price.fitting) == (True, None)
    assert cost(ask(week_book, with_fitting(60, 60, booked)), TUESDAY).lacks_fitting


def test_a_day_whose_hour_is_over_is_not_possible():
    week_book = book(now=at(0, "17:30"))
    price = cost(ask(week_book, 60), MONDAY)
    assert (price.possible, price.full, price.lacks_fitting) == (False, None, False)


def test_a_job_that_waits_is_not_ready_before_it_can_be_sewn():
    week_book, asked = book(), replace(AskedJob((480,)), not_before=WEDNESDAY)
    assert ask(week_book, asked).honest().kept == WEDNESDAY
    price = cost(ask(week_book, asked), TUESDAY)
    assert (price.possible, price.waits) == (False, WEDNESDAY)
    assert cost(ask(week_book, asked), WEDNESDAY).fits
    assert not cost(ask(week_book, replace(asked, parts=(481,))), WEDNESDAY).possible


def test_a_job_that_waits_is_fitted_after_that():
    asked = replace(with_fitting(60, 60), not_before=WEDNESDAY)
    honest = ask(book(), asked).honest()
    assert (honest.fittings, honest.kept) == ((WEDNESDAY,), THURSDAY)
    assert cost(ask(book(), asked), FRIDAY).fitting == WEDNESDAY


def test_no_bench_time_at_all_is_not_possible():
    week_book = book(job("26-0001", at(4), work(1, 60)), shifts={})
    price = cost(ask(week_book, 60), FRIDAY)
    assert (price.fits, price.possible, price.late, price.weeks) == (False, False, (), ())


def test_work_without_minutes_costs_nothing():
    week_book = book(job("26-0001", at(0), work(1, 480)), own=480)
    assert cost(ask(week_book, 0), MONDAY).free


@pytest.mark.parametrize(("hour", "spare"), [("12:00", 180), ("17:00", 480), ("20:00", 480)])
def test_the_hour_of_the_promise_counts_to_the_minute(hour, spare):
    ready_by = time.fromisoformat(hour)
    week_book = book()
    bench = cut_each_day(week_book.bench, ready_by, 0)
    day = ask(type(week_book)(bench, ()), 60, ready_by).strip(1)[0]
    assert (day.day, day.spare) == (MONDAY, spare)


def test_a_cut_day_holds_what_the_whole_day_held():
    bench = book(lost_percent=10).bench
    cut = cut_each_day(bench, time(12, 30), 10)
    assert cut.minutes_on(MONDAY) == bench.minutes_on(MONDAY) == 432
    assert [bucket.minutes for bucket in cut.buckets[:2]] == [189, 243]


def test_why_not_sooner_tells_how_much_of_it_is_the_owners():
    week_book = book(
        job("26-0001", at(4), work(1, 1800)), job("26-0002", at(4), work(2, 30)), own=480
    )
    why = ask(week_book, 120).honest().why
    # 30 h 30 for clients and 8 h for the owner leave 1 h 30 of the week's 40 h.
    assert (why.capacity, why.demand, why.own, why.spare) == (2400, 2310, 480, 90)
    assert why.binding == date(2026, 3, 8)
    assert [job.ticket for job in why.jobs] == ["26-0001", "26-0002"]


def test_where_only_the_fitting_stands_against_it_the_bench_is_no_reason():
    honest = ask(book(), with_fitting(60, 60)).honest()
    assert (honest.kept, honest.fittings, honest.why) == (TUESDAY, (MONDAY,), None)


def test_the_honest_date_after_a_booked_fitting():
    booked = fitting(3, "10:00")
    week_book = book(job("26-0009", at(4), fittings=[booked]))
    honest = ask(week_book, with_fitting(60, 60, booked)).honest()
    assert (honest.kept, honest.fittings) == (THURSDAY, ())


def test_a_fitting_beyond_the_laid_out_bench_still_gets_a_date():
    far = fitting(30, "10:00")
    week_book = book(job("26-0001", at(31), work(1, 60, after=1), fittings=[far]))
    honest = ask(week_book, 60).honest()
    assert honest.kept == MONDAY
    assert cost(ask(week_book, 600), MONDAY).full.capacity == 480
