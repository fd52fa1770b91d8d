"""The tightest promise, where a move leads to, and promises that cannot be kept at all."""

from datetime import date, time, timedelta

import pytest

from jobs.planning import core
from jobs.planning.plan.too_much import ClashReason, clashes, overdue, overfull, tightest
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

    assert overfull(lost(spare)) is None
    assert overfull(lost(spare + 1)) is not None


def test_nothing_promised_is_not_tight():
    assert tightest(book()) is None


def test_promises_without_any_bench_time_have_no_answer():
    week_book = book(job("26-0001", at(4), work(1, 60)), shifts={})
    with pytest.raises(core.NoBenchTimeError):
        overfull(week_book)


def moves(week_book, ready_by=time(17)):
    return {
        move.job.ticket: move.promise_day(week_book, ready_by, is_open)
        for move in overfull(week_book).moves
    }


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
        assert overfull(with_moved(ticket, day)) is None
        earlier = day - timedelta(days=1)
        while not is_open(earlier):
            earlier -= timedelta(days=1)
        assert overfull(with_moved(ticket, earlier)) is not None


def test_two_full_windows_are_not_mended_by_one_move():
    week_book = book(
        job("26-0001", at(0), work(1, 600)),
        job("26-0002", at(4), work(2, 600, after=1), fittings=[fitting(3, "16:30")]),
    )
    full = overfull(week_book)
    assert full.moves == ()
    assert full.overtime_minutes == 120 + 120


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
    assert clashes(book(job("26-0001", at(2), work(1, 60, waits="Washing")))) == []


def test_past_promises_are_told_once_the_oldest_first():
    week_book = book(
        job("26-0002", at(0, "08:00"), work(2, 45, waits="Washing")),
        job("26-0001", at(-3), work(1, 60)),
        job("26-0003", at(2), work(3, 60)),
    )
    rows = [(row.job.ticket, row.promised, row.minutes) for row in overdue(week_book)]
    assert rows == [("26-0001", date(2026, 2, 27), 60), ("26-0002", MONDAY, 45)]
    assert clashes(week_book) == []
