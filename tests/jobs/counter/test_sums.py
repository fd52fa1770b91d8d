"""Books made by chance, reckoned from their rows: what the pages say has to add up."""

from dataclasses import replace
from datetime import time, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from jobs.counter.sums import all_sums
from jobs.makes.models import Cloth
from jobs.planning.models import LongerDay, OwnSewingDay, PlanRules
from jobs.planning.own_hours import coming_mondays
from jobs.planning.plan.book import Book, monday_of
from jobs.planning.queries import read_week
from jobs.tickets.models import Line
from studio.shop import clock
from tests import factories as f
from tests.drafts import hem, issued, paid, received, take_in, trousers
from tests.jobs.planning.core.books import dice

BOOKS = 60  # ``make bench`` has 140 more
USUALLY = 24
ON_OTHER_DAYS = 12
# Their rows are asked every question that the sums ask.
ON_POSTGRES = {3, 9, 12, 15, 17, 42}


def wrong_sums(studio):
    return [each for each in all_sums(studio) if not each.right]


def live(studio, owner, number):
    """Rules, tickets, fittings, blocks, makes, times and money, all by chance."""
    rng = dice(number)
    own, lost = rng.choice([0, 20, 30, 60, 100]), rng.choice([0, 7, 10, 33])
    f.PlanRulesFactory(own_percent=own, lost_percent=lost)
    if rng.random() < 0.3:
        f.OwnWeekFactory(monday=monday_of(clock.today()), minutes=rng.choice([0, 96, 900, 2400]))
    if rng.random() < 0.2:
        f.DayOffFactory(day=clock.today() + timedelta(days=rng.randrange(1, 20)))
    for _ in range(rng.randrange(6)):
        bring(studio, owner, rng)
    for _ in range(rng.randrange(3)):
        kind = rng.choice(["own", "other"])
        f.AppointmentFactory(kind=kind, starts_at=moment(rng), minutes=rng.choice([30, 90, 240]))
    for _ in range(rng.randrange(3)):
        day = clock.today() + timedelta(days=rng.randrange(40))
        f.MakeFactory(planned=True, wear_by=day, minutes=rng.choice([45, 96, 300, 1500]))
    put_on_days(rng)
    if rng.random() < 0.5:
        f.BenchTimeFactory(purpose="own", line=None, minutes=25, started_at=hours_ago(1))
    f.ClothFactory()


def put_on_days(rng):
    """Operations and own minutes put on days, and days that are longer; some of it cannot be."""

    def day():
        return clock.today() + timedelta(days=rng.randrange(-2, 12))

    for line in Line.objects.filter(done_at=None):
        if rng.random() < 0.3:
            f.SewingDayFactory(line=line, day=day())
    for _ in range(rng.choice([0, 0, 1, 2])):
        make = rng.choice([None, f.MakeFactory(planned=True, wear_by=day(), minutes=200)])
        if not OwnSewingDay.objects.filter(make=make).exists():
            f.OwnSewingDayFactory(day=day(), minutes=rng.choice([40, 150, 600]), make=make)
    if rng.random() < 0.3:
        LongerDay.objects.create(day=day(), minutes=rng.choice([15, 60, 200]))


def moment(rng):
    day = clock.today() + timedelta(days=rng.randrange(21))
    return clock.at(day, time(rng.choice([9, 10, 11, 13, 15, 16]), rng.choice([0, 20])))


def hours_ago(hours):
    return clock.now() - timedelta(hours=hours)


def bring(studio, owner, rng):
    """One ticket with what may befall it."""
    lines = [
        work(minutes_each=rng.choice([20, 55, 130, 400, 900]), fitting_first=rng.random() < 0.2)
        for work in rng.sample([hem, take_in], rng.randint(1, 2))
    ]
    promise = clock.at(clock.today() + timedelta(days=rng.randrange(1, 30)), time(10, 30))
    ticket = received(studio, owner, trousers(*lines), promise_at=promise)
    if rng.random() < 0.4:
        f.FittingFactory(ticket=ticket, starts_at=moment(rng), minutes=rng.choice([20, 45]))
    if rng.random() < 0.4:
        paid(studio, owner, ticket, amount=rng.choice([500, 1000, ticket.gross]))
    if rng.random() < 0.3:
        issued(studio, owner, ticket)
    if rng.random() < 0.3:
        line = ticket.garments.get().lines.first()
        f.BenchTimeFactory(line=line, minutes=rng.choice([5, 40]), started_at=hours_ago(2))
    if rng.random() < 0.2:
        f.HoursTakenFactory(ticket=ticket, monday=monday_of(clock.today()), minutes=30)


def book(number):
    marks = [pytest.mark.postgres] if number in ON_POSTGRES else []
    if number >= ON_OTHER_DAYS:
        marks.append(pytest.mark.any_day)
    if number >= USUALLY and number not in ON_POSTGRES:
        marks.append(pytest.mark.thorough)
    return pytest.param(number, marks=marks)


@pytest.mark.parametrize("number", [book(number) for number in range(BOOKS)])
def test_books_by_chance(studio, owner, number, monkeypatch):
    live(studio, owner, number)
    if number >= ON_OTHER_DAYS:
        # Reading takes half of the time. The first books are read for each week, as its page does;
        # these once, as far ahead as the last of the weeks.
        week = read_week(studio, until=coming_mondays()[-1] + timedelta(days=6))
        monkeypatch.setattr("jobs.counter.sums.read_week", lambda *_, **__: week)
    assert [str(each) for each in wrong_sums(studio)] == []


def test_an_empty_studio(studio):
    """Of the share of the week what is left of it fits, and the rest is lost."""
    assert wrong_sums(studio) == []
    PlanRules.objects.all().delete()
    assert wrong_sums(studio) == []


def test_hours_counted_twice_are_told(studio, owner, monkeypatch):
    """The mistake of old: a make was given hours of this week that clients do not leave."""
    live(studio, owner, 3)
    totals = Book.own_totals

    def twice(self):
        rows = totals(self)
        first = min(rows)
        return rows | {first: replace(rows[first], fits=rows[first].fits + 80)}

    monkeypatch.setattr(Book, "own_totals", twice)
    assert any("own in the chart" in each.what for each in wrong_sums(studio))


def test_cloth_that_went_by_itself_is_told(studio):
    f.ClothFactory()
    Cloth.objects.update(left_mm=2500)
    assert {each.what for each in wrong_sums(studio)} == {"Linen 0: left", "On the shelf"}


def test_the_command_says_so(studio):
    f.ClothFactory()
    answer = StringIO()
    call_command("sums", stdout=answer)
    assert answer.getvalue() == f"All {len(list(all_sums(studio)))} figures add up.\n"
    Cloth.objects.update(left_mm=2500)
    with pytest.raises(CommandError, match="2 of "):
        call_command("sums", stdout=answer, stderr=answer)
    assert "Linen 0: left: 2500.0000, but the rows come to 3000.0000" in answer.getvalue()
