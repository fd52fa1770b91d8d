"""The book where its bench runs out, and work that lies behind it."""

from datetime import date, timedelta

from jobs.planning.plan.days import must_do, own_sittings
from tests.jobs.planning.books import MONDAY, at, book, fitting, job, work


def test_after_the_bench_comes_the_pattern_of_its_last_week_with_hours():
    closed = [MONDAY + timedelta(days=ahead) for ahead in range(7, 14)]
    one = book(job("26-0001", at(13), work(1, 6 * 480)), closed=closed)
    assert one.calendar.tail == (480, 480, 480, 480, 480, 0, 0)
    assert not one.plan.days[7]
    assert one.plan.days[14] == (("line-1", 480),)


def test_without_any_hours_nothing_is_planned():
    one = book(job("26-0001", at(1), work(1, 60)), own=120, shifts={})
    assert one.plan.relaxed
    assert set(one.plan.days) == {()}
    assert [week.kept for week in one.plan.own] == [0, 0]
    assert must_do(one, MONDAY).capacity == 0


def test_work_after_a_fitting_behind_the_bench_is_in_no_plan_yet():
    far = [fitting(20, "10:00")]
    one = book(job("26-0001", at(22), work(1, 60), work(2, 30, after=1), fittings=far))
    assert [stage.id for stage in one.stages] == ["line-1"]
    assert must_do(one, date(2026, 3, 15)).minutes == 60


def test_own_sewing_of_the_day_is_one_stretch_where_nothing_comes_between():
    one = book(own=2400)
    assert [(f"{starts:%H:%M}", minutes) for starts, minutes, _ in own_sittings(one, MONDAY)] == [
        ("09:00", 480)
    ]
    cut = book(job("26-0001", at(0, "12:00"), work(1, 60), fittings=[fitting(0, "14:00")]), own=420)
    assert [(f"{starts:%H:%M}", minutes) for starts, minutes, _ in own_sittings(cut, MONDAY)] == [
        ("10:00", 240), ("14:30", 150),
    ]  # fmt: skip
