"""The book where its bench runs out, and work that lies behind it."""

from datetime import date, timedelta

from jobs.planning.plan.day_line import day_line
from jobs.planning.plan.weeks import must_do
from tests.jobs.planning.books import MONDAY, at, book, fitting, job, work


def test_after_the_bench_comes_the_pattern_of_its_last_week_with_hours():
    closed = [MONDAY + timedelta(days=ahead) for ahead in range(7, 14)]
    week_book = book(job("26-0001", at(13), work(1, 6 * 480)), closed=closed)
    assert week_book.calendar.tail == (480, 480, 480, 480, 480, 0, 0)
    assert not week_book.plan.days[7]
    assert week_book.plan.days[14] == (("line-1", 480),)


def test_without_any_hours_nothing_is_planned():
    week_book = book(job("26-0001", at(1), work(1, 60)), own=120, shifts={})
    assert week_book.plan.relaxed
    assert set(week_book.plan.days) == {()}
    assert [week.kept for week in week_book.plan.own] == [0, 0]
    assert must_do(week_book, MONDAY).capacity == 0


def test_work_after_a_fitting_behind_the_bench_is_in_no_plan_yet():
    far = [fitting(20, "10:00")]
    week_book = book(job("26-0001", at(22), work(1, 60), work(2, 30, after=1), fittings=far))
    assert [stage.id for stage in week_book.stages] == ["line-1"]
    assert must_do(week_book, date(2026, 3, 15)).minutes == 60


def test_own_sewing_of_the_day_is_one_stretch_where_nothing_comes_between():
    def own(week_book):
        blocks = [block for block in day_line(week_book, MONDAY) if block.own]
        return [(f"{block.starts:%H:%M}", block.minutes) for block in blocks]

    assert own(book(own=2400)) == [("09:00", 480)]
    cut = book(job("26-0001", at(0, "12:00"), work(1, 60), fittings=[fitting(0, "14:00")]), own=420)
    assert own(cut) == [
        ("10:00", 240), ("14:30", 150),
    ]  # fmt: skip
