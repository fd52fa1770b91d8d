"""The owner's questions of the day and the week."""

import itertools
from datetime import date, time

from jobs.planning.plan.at_risk import Excess, excess
from jobs.planning.plan.day_line import day_line
from jobs.planning.plan.make_it_fit import StudioHours, left_over
from jobs.planning.plan.promises import AskedJob, Promises
from jobs.planning.plan.rush import cost
from jobs.planning.plan.weeks import must_do, week_bars
from tests.jobs.planning.books import MONDAY, at, book, fitting, is_open, job, work


def clock_of(week_book, moment):
    return f"{moment.astimezone(week_book.bench.zone):%H:%M}"


def test_must_do_and_its_reason():
    # 23 h are due by Monday the 9th; Friday and Monday hold 8 h each, so 7 h by Thursday.
    week_book = book(job("26-0001", at(7), work(1, 23 * 60)))
    due = must_do(week_book, date(2026, 3, 5))
    assert (due.minutes, due.demand, due.later) == (7 * 60, 23 * 60, 16 * 60)
    assert due.binding == date(2026, 3, 9)
    assert due.free == 4 * 480 - 7 * 60


def test_nothing_has_to_be_done_is_an_answer_too():
    week_book = book(job("26-0001", at(9), work(1, 60)))
    due = must_do(week_book, MONDAY)
    assert (due.minutes, due.binding, due.free) == (0, None, 480)


def test_the_day_in_clock_order_with_latest_starts():
    week_book = book(
        job("26-0001", at(0), work(1, 60), fittings=()),
        job("26-0002", at(2), work(2, 90)),
        job("26-0003", at(4), work(3, 45), work(4, 30, after=1, order=40),
            fittings=[fitting(0, "16:00")]),
    )  # fmt: skip
    rows = day_line(week_book, MONDAY)
    shown = [
        (
            r.jobs[0].ticket,
            r.minutes,
            clock_of(week_book, r.starts),
            r.latest and clock_of(week_book, r.latest),
        )
        for r in rows
    ]
    assert shown == [
        ("26-0003", 45, "09:00", "14:45"),
        ("26-0001", 60, "09:45", "15:30"),
        ("26-0002", 90, "10:45", None),
        ("26-0003", 30, "16:30", None),
    ]


def test_the_latest_start_leaves_time_for_all_that_follows():
    week_book = book(job("26-0001", at(0), work(1, 60)), job("26-0002", at(0), work(2, 120)))
    rows = day_line(week_book, MONDAY, must_do(week_book, MONDAY).needed)
    assert [clock_of(week_book, row.latest) for row in rows] == ["14:00", "15:00"]
    assert all(row.must for row in rows)


def test_lost_time_makes_a_block_longer_by_the_clock():
    week_book = book(
        job("26-0001", at(0), work(1, 90)), job("26-0002", at(0), work(2, 30)), lost_percent=10
    )
    rows = day_line(week_book, MONDAY)
    assert [clock_of(week_book, row.starts) for row in rows] == ["09:00", "10:40"]
    assert [clock_of(week_book, row.latest) for row in rows] == ["14:47", "16:27"]


def test_waiting_work_is_never_on_todays_list():
    week_book = book(job("26-0001", at(0), work(1, 60, waits="Washing")))
    assert day_line(week_book, MONDAY) == []


def test_a_closed_day_has_no_list():
    week_book = book(job("26-0001", at(7), work(1, 60)))
    assert day_line(week_book, date(2026, 3, 7)) == []


def test_bars_add_up_to_the_bench():
    week_book = book(
        job("26-0001", at(2), work(1, 600), fittings=[]),
        job("26-0002", at(4), work(2, 300), fittings=[fitting(1, "12:00", 60)]),
        own=480,
    )
    bars = week_bars(week_book, MONDAY)
    for day in bars.days:
        assert day.clients + day.own + day.free == day.capacity
    assert bars.total("appointments") == 60
    assert (bars.clients, bars.own) == (900, 480)


def test_the_week_before_shows_what_was_sewn():
    week_book = book(now=at(2, "09:00"))
    done = {(MONDAY, "client"): 300, (MONDAY, "own"): 60}
    bars = week_bars(week_book, MONDAY, done)
    first = bars.days[0]
    assert (first.done_clients, first.done_own, first.capacity, first.free) == (300, 60, 0, 0)


def test_all_promises_fit():
    assert excess(book(job("26-0001", at(4), work(1, 60)))) is None


def test_too_much_says_by_when_and_by_how_much_and_what_mends_it():
    # Monday to Wednesday hold 24 h; 26 h 20 are promised by Wednesday.
    week_book = book(job("26-0001", at(2), work(1, 20 * 60)), job("26-0002", at(2), work(2, 380)))
    hours, wednesday = StudioHours(time(17), is_open), date(2026, 3, 4)
    assert excess(week_book) == Excess(140, wednesday)
    left = left_over(week_book, hours)
    assert (left.until, left.promised, left.bench, left.over) == (wednesday, 1580, 1440, 140)
    # Adding is done in steps of a quarter of an hour.
    assert left.longer == ((wednesday, 150),)
    for ticket in ("26-0001", "26-0002"):
        alone = left_over(week_book, hours, {ticket}, days=True)
        assert (alone.fits, alone.days) == (True, {ticket: date(2026, 3, 5)})


def asked(week_book, *parts):
    return Promises(week_book, AskedJob(parts or (120,)), time(17), is_open)


def test_the_honest_date_and_the_reason_why_not_sooner():
    week_book = book(job("26-0001", at(2), work(1, 1400)))
    honest = asked(week_book, 60).honest()
    assert honest.sooner == date(2026, 3, 5)
    assert (honest.why.binding, honest.why.capacity, honest.why.demand) == (
        date(2026, 3, 4), 1440, 1400,
    )  # fmt: skip
    assert [job.ticket for job in honest.why.jobs] == ["26-0001"]


def test_own_hours_kept_make_it_later():
    week_book = book(job("26-0001", at(4), work(1, 1900)), own=480)
    honest = asked(week_book, 60).honest()
    assert (honest.sooner, honest.kept) == (MONDAY, date(2026, 3, 9))


def test_a_weekend_is_never_promised():
    week_book = book(job("26-0001", at(4), work(1, 2400)))
    assert asked(week_book, 60).honest().sooner == date(2026, 3, 9)
    strip = asked(week_book).strip(14)
    assert [day.day.day for day in strip if day.closed] == [7, 8, 14, 15]


def test_spare_hours_never_fall_along_the_strip():
    week_book = book(job("26-0001", at(2), work(1, 1000)), job("26-0002", at(8), work(2, 900)))
    spare = [day.spare for day in asked(week_book).strip(14)]
    assert all(earlier <= later for earlier, later in itertools.pairwise(spare))
    assert spare[:3] == [440, 440, 440]


def test_a_fitting_is_proposed_and_the_rest_comes_after_it():
    honest = asked(book(), 60, 60).honest()
    assert honest.fittings == (MONDAY,)
    assert honest.sooner == date(2026, 3, 3)


def test_no_bench_time_at_all_finds_no_date():
    honest = asked(book(shifts={})).honest()
    assert (honest.kept, honest.sooner, honest.why) == (None, None, None)


def test_a_date_that_fits_costs_nothing():
    price = cost(asked(book()), date(2026, 3, 3))
    assert (price.fits, price.free, price.lost, price.late) == (True, True, (), ())


def test_a_sooner_date_may_cost_own_hours():
    # The week holds 40 h, 32 h are promised and 8 h are the owner's: 2 h more take 2 h of them.
    week_book = book(job("26-0001", at(4), work(1, 1920)), own=480)
    price = cost(asked(week_book, 120), date(2026, 3, 4))
    assert price.fits
    assert price.lost == ((MONDAY, 120),)


def test_a_sooner_date_may_cost_a_promise():
    week_book = book(job("26-0001", at(0), work(1, 480)))
    price = cost(asked(week_book, 120), MONDAY)
    assert (price.fits, price.possible) == (False, True)
    assert [(late.ticket, late.day, late.days) for late in price.late] == [
        ("26-0001", date(2026, 3, 3), 1)
    ]
    assert (price.full.demand, price.full.capacity) == (600, 480)


def test_more_than_the_day_holds_is_not_possible():
    price = cost(asked(book(), 600), MONDAY)
    assert (price.possible, price.full.demand, price.full.capacity) == (False, 600, 480)


def test_a_day_that_is_over_is_not_possible():
    price = cost(asked(book(now=at(1, "09:00")), 60), MONDAY)
    assert not price.possible
