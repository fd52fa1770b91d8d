"""The worked week of docs/planning.md, computed again from its own table."""

import re
from datetime import date, time, timedelta
from pathlib import Path

import pytest

from jobs.planning.plan.bench import Shift
from jobs.planning.plan.day_line import day_line
from jobs.planning.plan.make_it_fit import StudioHours, in_the_way, left_over
from jobs.planning.plan.promises import AskedJob, Promises
from jobs.planning.plan.rush import cost
from jobs.planning.plan.weeks import must_do, week_bars
from studio.shop.locales import show_minutes
from tests.jobs.planning.books import MONDAY, at, book, fitting, is_open, job, work

PAGE = Path(__file__).parents[3] / "docs" / "planning.md"
ROW = re.compile(r"\| (26-\d{4}) \| (.+?) \| (\d+) \| \w{3} (\d+), (\d\d:\d\d) \|")
SIX_HOURS = {weekday: Shift(time(9), 360) for weekday in range(5)}
FRIDAY = MONDAY + timedelta(days=4)


@pytest.fixture(scope="module")
def text() -> str:
    """The page as one line, so that a sentence may be broken anywhere."""
    return " ".join(PAGE.read_text().split())


def worked(*extra):
    rows: dict[str, list] = {}
    for line, row in enumerate(ROW.finditer(PAGE.read_text())):
        rows.setdefault(row[1], []).append((line, *row.groups()[1:]))
    jobs = [
        job(
            ticket,
            at(int(parts[0][3]) - MONDAY.day, parts[0][4]),
            *(
                work(line, int(minutes), after=int("after that" in what), order=10 + line)
                for line, what, minutes, _, _ in parts
            ),
            fittings=[fitting(2, "12:00")] if len(parts) > 1 else [],
        )
        for ticket, parts in rows.items()
    ]
    return book(*jobs, *extra, own=540, shifts=SIX_HOURS)


def shown(day: date) -> str:
    return f"{day:%a} {day.day}"


def test_the_table_is_read_whole():
    assert [len(planned.works) for planned in worked().jobs] == [2, 1, 1, 1]


def test_today(text):
    week_book = worked()
    assert must_do(week_book, MONDAY).minutes == 0
    assert "*Nothing has to be done today.*" in text
    first = day_line(week_book, MONDAY)[0]
    assert f"starts with {first.jobs[0].ticket}, {first.minutes} minutes" in text


def test_this_week(text):
    due = must_do(worked(), FRIDAY)
    assert (
        f"*At least {show_minutes(due.minutes)} for clients, because {show_minutes(due.demand)} "
        f"must be sewn by {shown(due.binding)} and only {show_minutes(due.later)} is left "
        "after Friday.*"
    ) in text
    assert (
        f"still holds {show_minutes(due.capacity)}, so {show_minutes(due.free)} are left"
    ) in text


def test_own_hours(text):
    bars = week_bars(worked(), MONDAY)
    assert (
        f"{show_minutes(bars.clients)} for clients and {show_minutes(bars.own)} for you: "
        f"{round(100 * bars.own / (bars.own + bars.clients))} % is yours"
    ) in text
    assert f"All {show_minutes(bars.own)} of this week are kept" in text


def test_the_honest_date(text):
    honest = Promises(worked(), AskedJob((300,)), time(15), is_open).honest()
    assert (
        f"*Earliest with your own hours kept: {shown(honest.kept)}. "
        f"If they give way: {shown(honest.sooner)}.*"
    ) in text
    why = honest.why
    assert (
        f"until {shown(why.binding)} there are {show_minutes(why.capacity)} of bench time; "
        f"{show_minutes(why.demand)} of it are promised, your own hours among them, and "
        f"{show_minutes(why.spare)} are left"
    ) in text


def test_the_cost_of_wednesday(text):
    asked = Promises(worked(), AskedJob((300,)), time(15), is_open)
    price = cost(asked, MONDAY + timedelta(days=2))
    assert price.late == ()
    ((monday, own_lost),) = price.lost
    assert monday == MONDAY
    assert (
        f"Nobody would be late. It would cost you {show_minutes(own_lost)} of your own time "
        "this week."
    ) in text


def test_too_much(text):
    full = worked(job("26-0105", at(4, "15:00"), work(9, 900)))
    hours, rows = StudioHours(time(15), is_open), in_the_way(full)
    left = left_over(full, hours)
    assert left.until is not None
    assert (
        f"*Until {shown(left.until)}: {show_minutes(left.bench)} of bench "
        f"time, {show_minutes(left.promised)} promised ({len(rows)} tickets). "
        f"{show_minutes(left.over)} too much.*"
    ) in text
    ((day, minutes),) = left.longer
    assert f"{show_minutes(minutes)} more at the bench by {shown(day)}" in text
    alone = [left_over(full, hours, {row.job.ticket}, days=True) for row in rows]
    enough = dict(pair for each in alone if each.fits for pair in each.days.items())
    assert {ticket: shown(day) for ticket, day in enough.items() if day} == {
        "26-0101": "Wed 11", "26-0103": "Wed 11", "26-0104": "Tue 10", "26-0105": "Wed 11",
    }  # fmt: skip
    assert "26-0104 on Tue 10, or 26-0101, 26-0103 or 26-0105 on Wed 11" in text
