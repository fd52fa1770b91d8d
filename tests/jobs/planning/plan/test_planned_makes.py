"""Makes that are planned like a promise: out of the owner's hours, and never against a client."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.makes.models import MakeState
from jobs.planning.models import BenchTime
from jobs.planning.plan.at_risk import excess, tightest
from jobs.planning.plan.bench import Busy
from jobs.planning.plan.day_line import day_line, planned_parts
from jobs.planning.plan.promises import AskedJob, Promises
from jobs.planning.plan.rush import cost
from jobs.planning.plan.weeks import must_do, week_bars
from jobs.planning.plan.workload import PlannedMake
from jobs.planning.queries import read_week
from jobs.planning.week import week_sheet
from studio.shop import clock
from tests.factories import MakeFactory
from tests.jobs.planning.books import MONDAY, at, book, is_open, job, work

FRIDAY = MONDAY + timedelta(days=4)


def with_make(week_book, minutes=300, day=FRIDAY, pk=1, **facts):
    make = PlannedMake(pk, f"Make {pk}", day, minutes)
    return replace(week_book, makes=(*week_book.makes, make), **facts)


def sewn_by(week_book, day):
    """Minutes of planned makes until the end of a day."""
    last = week_book.bench.last_of_day(day)
    return sum(
        minutes
        for pieces in week_book.plan.days[: last + 1]
        for stage, minutes in pieces
        if week_book.make_of(stage)
    )


def given_by_week(week_book):
    """What each of the two weeks gives to makes: read from the days of the plan."""
    sundays = [MONDAY + timedelta(days=6), MONDAY + timedelta(days=13)]
    first, second = (sewn_by(week_book, sunday) for sunday in sundays)
    return first, second - first


def own_of(week_book):
    """Own minutes of the two weeks, makes included."""
    return [own.kept for own in week_book.own_totals().values()]


def test_it_is_taken_from_own_hours_and_done_by_its_day():
    """By hand: 10 h are the owner's each week, 5 h of the first go to the make by Friday."""
    plain = book(own=600)
    planned = with_make(plain)
    assert given_by_week(planned) == (300, 0)
    assert sewn_by(planned, FRIDAY) == 300
    assert own_of(planned) == own_of(plain) == [600, 600]
    free = [
        sum(either.plan.free[: either.bench.last_of_day(FRIDAY) + 1]) for either in (plain, planned)
    ]
    assert free == [2400 - 600] * 2


def test_the_nearest_weeks_give_first_and_the_rest_comes_on_top():
    planned = with_make(book(own=120), minutes=300, day=MONDAY + timedelta(days=11))
    totals = planned.own_totals().values()
    assert [own.lost for own in totals] == [0, 0]
    assert sum(own.more for own in totals) == 300 - 2 * 120
    assert sewn_by(planned, MONDAY + timedelta(days=11)) == 300


def test_hours_that_clients_do_not_leave_are_not_given_to_it():
    """Friday, half past twelve: 4 h 30 of bench time, of which 4 h 14 are due by five.

    By hand: 16 minutes of this week's 1 h 36 are left, on every page, and the make takes them. Its
    other 80 minutes are the first of next week's 1 h 36.
    """
    plain = book(job("26-0001", at(4, "17:00"), work(1, 254)), own=96, now=at(4, "12:30"))
    planned = with_make(plain, minutes=96, day=MONDAY + timedelta(days=11))
    assert given_by_week(planned) == (16, 80)
    for either in (plain, planned):
        totals = list(either.own_totals().values())
        assert [(own.fits, own.lost, own.more) for own in totals] == [(16, 80, 0), (96, 0, 0)]
        bars = [week_bars(either, own.monday) for own in totals]
        assert [week.own for week in bars] == [16, 96]
        assert [week.clients + week.own + week.free for week in bars] == [270, 2400]
        asked = Promises(either, AskedJob((30,)), at(0, "17:00").time(), is_open)
        assert asked.honest().kept == MONDAY + timedelta(days=7)
        # Nothing is spare this week; next week all but the 96 minutes, and each of them by its day.
        spare = {day.day: day.spare_kept for day in asked.honest(14).strip}
        assert spare[FRIDAY] == 0
        assert spare[MONDAY + timedelta(days=11)] == 2400 - 96
        ten = Promises(either, AskedJob((10,)), at(0, "17:00").time(), is_open)
        week = cost(ten, FRIDAY).weeks[0]
        assert (week.kept_before, week.kept_after) == (16, 6)


def test_hours_put_on_a_day_are_sewn_on_it_first():
    """Two hours of Monday evening, once for nothing in particular and once for something else."""
    evening = (Busy(at(0, "18:00"), at(0, "20:00")),)
    plain = replace(book(own=600), blocks=evening)
    assert given_by_week(with_make(plain)) == (300, 0)
    assert given_by_week(with_make(plain, unnamed=evening)) == (180, 0)


def test_clients_stay_as_they_are():
    """2,400 minutes of the week, of which 2,200 are promised: 200 are left for the make."""
    full = book(job("26-0001", at(4, "17:00"), work(1, 2200)), own=600)
    planned = with_make(full)
    assert given_by_week(planned) == (200, 0)
    assert excess(planned) is None
    assert tightest(planned) == tightest(full)
    assert must_do(planned, FRIDAY) == must_do(full, FRIDAY)
    assert not planned.plan.relaxed


def test_an_overfull_book_is_as_overfull_with_it():
    """Late work is done on the same day as without the make; a bigger one finds less room."""

    def done(week_book):
        return max(n for n, day in enumerate(week_book.plan.days) if "line-1" in dict(day))

    late = book(job("26-0001", at(1, "17:00"), work(1, 2000)), own=600)
    for minutes in (300, 900):
        planned = with_make(late, minutes=minutes, day=MONDAY + timedelta(days=1))
        assert sum(given_by_week(planned)) == min(minutes, 2400 - 2000)
        assert excess(planned) == excess(late)
        assert excess(late).minutes == 2000 - 960
        assert done(planned) == done(late)


def test_an_honest_date_keeps_it():
    """The make holds 1,200 of the week's 2,400 minutes, on any day until Friday."""

    def honest(week_book, minutes):
        return Promises(week_book, AskedJob((minutes,)), at(0, "17:00").time(), is_open).honest()

    plain = book()
    assert honest(plain, 1900).kept == MONDAY + timedelta(days=3)
    planned = with_make(plain, minutes=1200)
    assert honest(planned, 1200).kept == MONDAY + timedelta(days=2)
    assert honest(planned, 1201).kept == MONDAY + timedelta(days=7)
    assert honest(planned, 1900).sooner == MONDAY + timedelta(days=3)


def test_a_rush_that_takes_its_hours_says_so():
    planned = with_make(book(own=600))
    price = cost(Promises(planned, AskedJob((2000,)), at(0, "17:00").time(), is_open), FRIDAY)
    assert (price.fits, price.late) == (True, ())
    assert sum(minutes for _, minutes in price.lost) == 200


def test_a_rush_that_takes_what_comes_on_top_says_so():
    """No hour is kept for the owner; of 2,400 the make has 1,200, and 100 of them are wanted."""
    planned = with_make(book(), minutes=1200)
    price = cost(Promises(planned, AskedJob((1300,)), at(0, "17:00").time(), is_open), FRIDAY)
    assert price.lost == ((MONDAY, 100),)


def test_a_fitting_that_takes_its_hours_says_so():
    """All of Monday and Tuesday is the make's; the week gives as much to the owner either way.

    By hand: a fitting on Monday leaves 930 of 960 minutes until Tuesday, and Wednesday is free. So
    with everything kept the fitting is on Wednesday, and the work behind it on Thursday.
    """
    tuesday, wednesday, thursday = (MONDAY + timedelta(days=n) for n in (1, 2, 3))
    planned = with_make(book(own=1200), minutes=960, day=tuesday)
    asked = AskedJob((0, 180))
    promises = Promises(planned, asked, at(0, "17:00").time(), is_open)
    honest = promises.honest()
    assert (honest.kept, honest.fittings, honest.sooner) == (thursday, (wednesday,), tuesday)
    price = cost(promises, wednesday)
    assert (price.fits, price.fitting, price.lost, price.free) == (True, MONDAY, (), False)
    assert [(short.make.words, short.minutes) for short in price.short] == [("Make 1", 30)]
    kept = cost(promises, thursday)
    assert (kept.free, kept.fitting) == (True, wednesday)


def test_what_only_moves_to_another_week_is_not_lost():
    """No hour is the owner's of its own; the make of ten hours may be sewn this week or next."""
    planned = with_make(book(), minutes=600, day=MONDAY + timedelta(days=11))
    price = cost(Promises(planned, AskedJob((2100,)), at(0, "17:00").time(), is_open), FRIDAY)
    (week, after) = price.weeks
    assert (week.kept_before, week.kept_after, week.lost) == (600, 300, 0)
    assert (after.kept_before, after.kept_after, after.lost) == (0, 300, 0)
    assert price.free


def test_lists_name_it_as_own_work():
    planned = with_make(book(own=600))
    days = [MONDAY + timedelta(days=n) for n in range(5)]
    parts = [part for day in days for part in planned_parts(planned, day)]
    own = [part for part in parts if part.kind != "free"]
    assert {part.kind for part in own} == {"own"}
    named = {name: sum(part.minutes for part in own if part.words == name)
             for name in ("Make 1", "")}  # fmt: skip
    assert named == {"Make 1": 300, "": 300}
    makes = [block.make for day in days for block in day_line(planned, day)]
    assert {make and make.words for make in makes} == {"Make 1", None}


@pytest.fixture
def wear(monday, studio):
    """A make for Friday of the first test week, with five hours of work guessed."""
    posted = {"planned": True, "wear_by": FRIDAY, "minutes": 300, "words": "Red coat"}
    return MakeFactory(**posted)


@pytest.mark.postgres
def test_the_guess_less_what_was_sewn(wear, owner, studio):
    BenchTime.objects.create(purpose="own", make=wear, minutes=90, started_at=clock.now(), by=owner)
    read = read_week(studio)
    assert read.book.makes == (PlannedMake(wear.pk, "Red coat", FRIDAY, 210),)
    assert read.under_way == []


@pytest.mark.parametrize(
    "facts",
    [
        {"planned": False},
        {"wear_by": None},
        {"minutes": None},
        {"state": MakeState.FINISHED},
        {"state": MakeState.LET_GO},
        {"wear_by": MONDAY - timedelta(days=1)},
    ],
)
def test_nothing_else_is_planned(wear, studio, facts):
    """Its day passed unfinished: then it is a make like any other, and nothing is late."""
    for name, value in facts.items():
        setattr(wear, name, value)
    wear.save()
    assert read_week(studio).book.makes == ()


def test_today_and_the_week_show_it(wear, owner_client, studio):
    today = owner_client.get(reverse("today")).text
    assert re.search(rf'<a class="job" href="/own/makes/{wear.pk}/">.*?<b>Red coat</b>', today)
    assert "to be worn on Fri 6 Mar" in today
    assert "<b>Red coat</b>" in owner_client.get(reverse("week")).text
    sheet = week_sheet(read_week(studio), MONDAY)
    assert (sheet.own.target, sheet.own.kept, sheet.bars.own) == (720, 720, 720)


def test_own_hours_of_the_coming_weeks_stay_whole(wear, owner_client):
    text = owner_client.get(reverse("own-hours")).text
    assert "Red coat" not in text
    assert text.count("12 h") >= 6
