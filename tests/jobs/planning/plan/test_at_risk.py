"""Promises at risk, reckoned by hand: the bench is open nine to five, 480 minutes a day."""

from datetime import date, time

from jobs.planning.plan.at_risk import Mend, excess, honest_days, promises_at_risk
from jobs.planning.plan.make_it_fit import StudioHours, left_over
from tests.jobs.planning.books import MONDAY, at, book, fitting, is_open, job, work

READY_BY = time(17)


def risks(week_book, **facts):
    rows = promises_at_risk(week_book, READY_BY, is_open, 3, **facts)
    return [(row.job.ticket, row.kind, row.mend.name, row.to and row.to.day) for row in rows]


def test_nothing_is_at_risk_where_all_fits():
    assert risks(book(job("26-0001", at(0), work(1, 480)))) == []
    assert excess(book(job("26-0001", at(0), work(1, 480)))) is None


def test_a_fitting_after_the_promise_moves_it_behind_the_fitting():
    # Wednesday at three until half past: an hour and a half is left that day, two hours are needed.
    week_book = book(
        job("26-0001", at(1), work(1, 60), work(2, 120, after=1), fittings=[fitting(2, "15:00")])
    )
    assert risks(week_book) == [("26-0001", "fitting", "MOVE", 5)]


def test_the_honest_day_keeps_all_others_and_the_own_hours():
    others = [job("26-0001", at(0), work(1, 480)), job("26-0002", at(1), work(2, 300))]
    late = job("26-0003", at(-1), work(3, 240))
    week_book = book(*others, late)
    # 180 minutes are free on Tuesday, so it is done on Wednesday.
    assert honest_days(week_book, [late], READY_BY, is_open) == {"26-0003": date(2026, 3, 4)}
    # Tuesday to Friday hold 1920. Of 1440 own minutes 1380 survive beside 300 and 240 of clients,
    # and these leave exactly the 240, by Wednesday.
    kept = book(*others, late, own=1440)
    assert honest_days(kept, [late], READY_BY, is_open) == {"26-0003": date(2026, 3, 4)}
    # 180 on Tuesday and 480 on each day after it hold 1500 minutes by Friday, and no sooner.
    long = job("26-0003", at(4), work(3, 1500))
    assert honest_days(book(*others, long), [long], READY_BY, is_open)["26-0003"] == date(
        2026, 3, 6
    )


def test_no_day_is_named_where_no_bench_time_is():
    late = job("26-0001", at(0), work(1, 60))
    assert honest_days(book(late, shifts={}), [late], READY_BY, is_open) == {"26-0001": None}


def test_what_waits_is_asked_about_and_what_is_expected_moves():
    week_book = book(
        job("26-0001", at(0), work(1, 60, waits="The client's answer")),
        job("26-0002", at(0), work(2, 60, waits="A zip or other part", expected=date(2026, 3, 4))),
    )
    assert risks(week_book) == [
        ("26-0001", "waiting", "ASK", None),
        ("26-0002", "expected", "MOVE", 4),
    ]


def test_in_an_overfull_book_what_is_done_late_is_told():
    # 480 fit today and 600 are promised: the one whose number comes last is done on Tuesday.
    week_book = book(job("26-0001", at(0), work(1, 300)), job("26-0002", at(0), work(2, 300)))
    assert risks(week_book, overfull=True) == [("26-0002", "room", "MOVE", 3)]
    assert excess(week_book).minutes == 120
    assert excess(week_book).day == MONDAY


def test_what_does_not_fit_is_one_figure_with_the_page_that_makes_it_fit():
    rows = [job(f"26-000{n}", at(n % 3), work(n, 350)) for n in range(1, 8)]
    week_book = book(*rows)
    left = left_over(week_book, StudioHours(READY_BY, is_open))
    assert (excess(week_book).minutes, excess(week_book).day) == (left.over, left.until)
    # 2,450 minutes are promised until Wednesday, whose three days hold 1,440.
    assert left.over == 2450 - 1440


def test_the_first_promised_is_first_and_only_the_first_few_are_asked_about():
    rows = [job(f"26-000{n}", at(-n), work(n, 30)) for n in range(1, 6)]
    assert [(number, to) for number, *_, to in risks(book(*rows))] == [
        ("26-0005", 2), ("26-0004", 2), ("26-0003", 2), ("26-0002", None), ("26-0001", None),
    ]  # fmt: skip


def test_each_way_a_hem_can_wait_has_its_mend():
    waits = ["A fitting to be booked", "A new day for the missed fitting", "The hem to be marked"]
    rows = [job(f"26-000{n}", at(0), work(n, 30, waits=what)) for n, what in enumerate(waits)]
    shown = promises_at_risk(book(*rows), READY_BY, is_open, 3)
    assert [row.mend for row in shown] == [Mend.BOOK, Mend.NEW_TIME, Mend.MARK]
