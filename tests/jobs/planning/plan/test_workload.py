"""From tickets, fittings and waits to stages."""

from datetime import date

from jobs.planning.core import bottleneck
from jobs.planning.plan.workload import TO_MARK
from tests.jobs.planning.books import at, book, fitting, job, work


def windows(week_book):
    """(id, release day, due day) of each stage; buckets named by day and part."""
    buckets = week_book.bench.buckets

    def name(bucket):
        if bucket < 0:
            return "past"
        day = buckets[bucket].day
        same = [place for place, other in enumerate(buckets) if other.day == day]
        part = f".{same.index(bucket)}" if len(same) > 1 else ""
        return f"{day:%a}{part}"

    return [(s.id, name(s.release), name(s.due)) for s in week_book.stages]


def test_without_a_fitting_the_work_is_due_by_the_promise():
    assert windows(book(job("26-0001", at(3), work(1, 60)))) == [("line-1", "Mon", "Thu")]


def test_a_promise_at_noon_leaves_the_morning_only():
    week_book = book(job("26-0001", at(0, "12:00"), work(1, 181)))
    assert windows(week_book) == [("line-1", "Mon.0", "Mon.0")]
    assert bottleneck(week_book.capacity, week_book.stages).excess == 1


def test_work_before_a_four_oclock_fitting_is_due_by_four_and_the_rest_after_it():
    week_book = book(
        job(
            "26-0001", at(4), work(1, 60), work(2, 30, after=1, order=40),
            fittings=[fitting(1, "16:00")],
        )
    )  # fmt: skip
    assert windows(week_book) == [("line-1", "Mon", "Tue.0"), ("line-2", "Tue.1", "Fri")]


def test_the_fitting_takes_its_time_from_the_bench():
    week_book = book(job("26-0001", at(4), work(1, 60), fittings=[fitting(1, "16:00", 60)]))
    assert week_book.bench.minutes_on(date(2026, 3, 3)) == 420


def test_the_body_comes_before_the_hem_whatever_the_order_of_the_lines():
    week_book = book(job("26-0001", at(2), work(1, 30, order=40), work(2, 60, order=10)))
    assert [stage.id for stage in sorted(week_book.stages, key=lambda s: s.seq)] == [
        "line-2",
        "line-1",
    ]


def test_waiting_work_starts_tomorrow_at_the_earliest_and_when_it_is_expected():
    """What is on hold, nobody knows until when, is not planned; what the studio itself can bring
    about is planned as if it came tomorrow."""
    soon = work(1, 30, waits=TO_MARK)
    later = work(2, 30, waits="A zip or other part", expected=date(2026, 3, 5))
    past = work(3, 30, waits="Washing", expected=date(2026, 3, 1))
    held = work(4, 30, waits="Washing", garment="B")
    week_book = book(job("26-0001", at(4), soon, later, past, held))
    assert windows(week_book) == [
        ("line-1", "Tue", "Fri"),
        ("line-3", "Tue", "Fri"),
        ("line-2", "Thu", "Fri"),
    ]
    assert week_book.load.clashes == ["26-0001"]


def test_what_waits_holds_up_its_own_garment_and_no_other():
    held, after_it = work(1, 30, waits=TO_MARK), work(2, 20, order=40)
    other = work(3, 20, garment="B", order=40)
    week_book = book(job("26-0001", at(4), held, after_it, other))
    assert windows(week_book) == [
        ("line-3", "Mon", "Fri"),
        ("line-1", "Tue", "Fri"),
        ("line-2", "Tue", "Fri"),
    ]
    washed = work(1, 30, waits="Washing")
    assert windows(book(job("26-0001", at(4), washed, after_it, other))) == [
        ("line-3", "Mon", "Fri"),
    ]
    assert week_book.plan.days[0] == (("line-3", 20),)


def test_work_that_waits_on_the_day_it_is_due_takes_the_rest_of_its_garment_along():
    week_book = book(job("26-0001", at(0), work(1, 30, waits=TO_MARK), work(2, 20, order=40)))
    assert week_book.load.clashes == ["26-0001"]
    assert windows(week_book) == [("line-1", "Tue", "Tue"), ("line-2", "Tue", "Tue")]
    assert week_book.plan.days[1] == (("line-1", 30), ("line-2", 20))


def test_a_promise_in_the_past_is_due_now_and_named():
    week_book = book(job("26-0001", at(-3), work(1, 60)))
    assert windows(week_book) == [("line-1", "Mon", "past")]
    assert week_book.load.overdue == ["26-0001"]
    assert week_book.plan.days[0][0] == ("line-1", 60)


def test_work_that_may_only_start_after_its_promise_is_a_clash_and_planned_then():
    week_book = book(
        job("26-0001", at(1), work(1, 30), work(2, 30, after=1), fittings=[fitting(3, "10:00")])
    )
    assert week_book.load.clashes == ["26-0001"]
    assert windows(week_book)[1] == ("line-2", "Thu.1", "Thu.1")


def test_a_ticket_without_minutes_asks_for_nothing():
    week_book = book(job("26-0001", at(1), work(1, 0)))
    assert week_book.plan.days[0] == ()
