"""The tightest promise, where a move leads to, and promises that cannot be kept at all."""

from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from jobs.planning import core
from jobs.planning.plan.at_risk import ClashReason, clashes, excess, overdue, tightest
from jobs.planning.plan.bench import cut_each_day
from jobs.planning.plan.make_it_fit import StudioHours, left_over
from jobs.planning.plan.workload import TO_MARK
from tests.jobs.planning.books import MONDAY, at, book, fitting, is_open, job, work


def test_the_tightest_promise_is_the_one_with_the_least_to_spare():
    week_book = book(
        job("26-0001", at(1), work(1, 700)),
        job("26-0002", at(3), work(2, 1100)),
        job("26-0003", at(8), work(3, 600)),
    )
    # Until Tuesday 260 are spare, until Thursday 1920 - 1800 = 120, until Tuesday the 10th 960.
    tight = tightest(week_book)
    assert (tight.day, tight.minutes, tight.ticket) == (date(2026, 3, 5), 120, "26-0002")


def test_work_after_a_fitting_has_only_the_time_after_it():
    week_book = book(
        job("26-0001", at(2), work(1, 240, after=1), fittings=[fitting(2, "12:00")]),
        job("26-0002", at(4), work(2, 300)),
    )
    tight = tightest(week_book)
    # From 12:30 to 17:00 are 270 minutes.
    assert (tight.day, tight.minutes, tight.ticket) == (date(2026, 3, 4), 30, "26-0001")


def test_that_many_lost_minutes_break_it_and_no_fewer():
    jobs = [job("26-0001", at(1), work(1, 700)), job("26-0002", at(3), work(2, 1100))]
    spare = tightest(book(*jobs)).minutes

    def lost(minutes):
        return book(*jobs, job("26-0009", at(0), work(9, minutes)))

    assert excess(lost(spare)) is None
    assert excess(lost(spare + 1)).minutes == 1


def test_nothing_promised_is_not_tight():
    assert tightest(book()) is None


def test_promises_without_any_bench_time_have_no_answer():
    week_book = book(job("26-0001", at(4), work(1, 60)), shifts={})
    with pytest.raises(core.NoBenchTimeError):
        tightest(week_book)
    assert excess(week_book) is None


def moves(week_book, ready_by=time(17)):
    """The tickets that let all others hold when they alone are moved, and where to."""
    hours = StudioHours(ready_by, is_open)
    week_book = replace(week_book, bench=cut_each_day(week_book.bench, ready_by, 0))
    alone = [left_over(week_book, hours, {job.ticket}, days=True) for job in week_book.jobs]
    return {ticket: day for left in alone if left.fits for ticket, day in left.days.items()}


def test_a_move_leads_to_an_open_day():
    # 3 h too much on a full week: the next open day is Monday the 9th.
    week_book = book(job("26-0001", at(4), work(1, 2400)), job("26-0002", at(4), work(2, 180)))
    assert moves(week_book) == {"26-0001": date(2026, 3, 9), "26-0002": date(2026, 3, 9)}


def test_a_move_leads_to_a_day_on_which_the_hour_is_late_enough():
    # Until noon on Monday the 9th there are 3 h more; 4 h are too much.
    week_book = book(job("26-0001", at(4), work(1, 2400)), job("26-0002", at(4), work(2, 240)))
    assert moves(week_book, time(12))["26-0002"] == date(2026, 3, 10)
    assert moves(week_book, time(17))["26-0002"] == date(2026, 3, 9)


def test_the_moved_promise_lets_all_the_others_hold():
    jobs = {
        "26-0001": (2, 900),
        "26-0002": (2, 700),
        "26-0003": (3, 400),
        "26-0004": (7, 600),
    }

    def with_moved(ticket="", day=None):
        return book(
            *(
                job(number, at((day - MONDAY).days if number == ticket else due), work(n, minutes))
                for n, (number, (due, minutes)) in enumerate(jobs.items())
            )
        )

    days = moves(with_moved())
    assert days
    for ticket, day in days.items():
        assert excess(with_moved(ticket, day)) is None
        earlier = day - timedelta(days=1)
        while not is_open(earlier):
            earlier -= timedelta(days=1)
        assert excess(with_moved(ticket, earlier)) is not None


def test_two_full_windows_are_not_mended_by_one_move():
    week_book = book(
        job("26-0001", at(0), work(1, 600)),
        job("26-0002", at(4), work(2, 600, after=1), fittings=[fitting(3, "16:30")]),
    )
    assert moves(week_book) == {}
    assert excess(week_book).minutes == 120 + 120


def test_a_fitting_after_the_promise():
    late = fitting(3, "10:00")
    (clash,) = clashes(book(job("26-0001", at(2), work(1, 60, after=1), fittings=[late])))
    assert (clash.why, clash.promised, clash.day) == (
        ClashReason.FITTING, date(2026, 3, 4), date(2026, 3, 5),
    )  # fmt: skip


def test_work_that_waits_past_the_promise():
    zips = work(1, 60, waits="A zip", expected=date(2026, 3, 6))
    answer = work(2, 60, waits="The client's answer")
    known, unknown = clashes(book(job("26-0001", at(2), zips), job("26-0002", at(0), answer)))
    assert (known.why, known.day, known.waits) == (ClashReason.EXPECTED, date(2026, 3, 6), "A zip")
    assert (unknown.why, unknown.day) == (ClashReason.WAITING, None)


def test_no_bench_time_between_fitting_and_promise():
    close = fitting(2, "16:30", 30)
    (clash,) = clashes(book(job("26-0001", at(2), work(1, 60, after=1), fittings=[close])))
    assert (clash.why, clash.day) == (ClashReason.NO_TIME, date(2026, 3, 4))


def test_what_can_be_kept_does_not_clash():
    assert clashes(book(job("26-0001", at(2), work(1, 60, waits=TO_MARK)))) == []


def test_past_promises_are_told_once_the_oldest_first():
    week_book = book(
        job("26-0002", at(0, "08:00"), work(2, 45, waits="Washing")),
        job("26-0001", at(-3), work(1, 60)),
        job("26-0003", at(2), work(3, 60)),
    )
    rows = [(row.job.ticket, row.promised, row.minutes) for row in overdue(week_book)]
    assert rows == [("26-0001", date(2026, 2, 27), 60), ("26-0002", MONDAY, 45)]
    assert clashes(week_book) == []
