"""Work put on days: the actions, and what the week makes of it."""

from datetime import date, timedelta

import pytest

from jobs.planning import actions
from jobs.planning.models import OwnSewingDay, SewingDay
from jobs.planning.queries import read_week
from jobs.tickets import actions as tickets
from jobs.tickets.models import Line
from studio.shop import clock
from studio.shop.models import DayOff
from tests.drafts import hem, received, take_in, trousers
from tests.factories import OwnSewingDayFactory, SewingDayFactory
from tests.own_factories import MakeFactory

pytestmark = pytest.mark.django_db


def open_day(ahead: int) -> date:
    day = clock.today() + timedelta(days=ahead)
    return day + timedelta(days=max(0, 7 - day.weekday()) % 7 if day.weekday() > 4 else 0)


@pytest.fixture
def lines(studio, owner):
    ticket = received(studio, owner, trousers(take_in(), hem()))
    return list(Line.objects.filter(garment__ticket=ticket).select_related("garment__ticket"))


def days_sewn(studio) -> dict[str, set[date]]:
    book = read_week(studio).book
    days: dict[str, set[date]] = {}
    for bucket, pieces in enumerate(book.plan.days[: len(book.bench.buckets)]):
        for stage, _ in pieces:
            days.setdefault(stage, set()).add(book.bench.buckets[bucket].day)
    return days


def test_work_is_sewn_on_the_day_it_was_put_on_until_it_is_let_loose(studio, owner, lines):
    stage = f"line-{lines[1].pk}"
    before = days_sewn(studio)[stage]
    day = open_day((max(before) - clock.today()).days + 1)
    actions.put_on_day(lines=lines[1:2], day=day, studio=studio, by=owner)
    actions.put_on_day(lines=lines[1:2], day=day, studio=studio, by=owner)
    assert SewingDay.objects.get().day == day
    assert days_sewn(studio)[stage] == {day}
    actions.let_loose(lines=lines[1:2], by=owner)
    actions.let_loose(lines=lines[1:2], by=owner)
    assert days_sewn(studio)[stage] == before


def test_a_day_that_cannot_be_is_refused(studio, owner, lines):
    def put(day):
        actions.put_on_day(lines=lines, day=day, studio=studio, by=owner)

    with pytest.raises(actions.PlanError, match="over"):
        put(clock.today() - timedelta(days=1))
    with pytest.raises(actions.PlanError, match="far"):
        put(clock.today() + timedelta(days=400))
    DayOff.objects.create(day=open_day(2))
    with pytest.raises(actions.PlanError, match="closed"):
        put(open_day(2))
    tickets.tick(line=lines[0], by=owner)
    with pytest.raises(actions.PlanError, match="no longer open"):
        put(open_day(2) + timedelta(days=7))
    assert not SewingDay.objects.exists()


def test_a_day_off_afterwards_is_told(studio, lines):
    SewingDayFactory(line=lines[1], day=open_day(2))
    DayOff.objects.create(day=open_day(2))
    (risk,) = read_week(studio).book.load.at_risk
    assert (risk.why.name, risk.day) == ("CLOSED", open_day(2))


def test_own_minutes_move_from_one_day_to_another(studio, owner):
    make, facts = MakeFactory(), {"studio": studio, "by": owner}
    actions.put_own_on_day(day=open_day(1), minutes=60, make=make, **facts)
    actions.put_own_on_day(day=open_day(2), minutes=60, make=make, taken_from=open_day(1), **facts)
    row = OwnSewingDay.objects.get()
    assert (row.day, row.minutes, row.make) == (open_day(2), 60, make)
    stage = read_week(studio).book.own_days[0].stage
    assert days_sewn(studio)[stage] == {open_day(2)}
    actions.let_own_loose(day=open_day(2), make=make, by=owner)
    assert not OwnSewingDay.objects.exists()
    with pytest.raises(actions.PlanError, match="minute"):
        actions.put_own_on_day(day=open_day(1), minutes=0, **facts)


def test_own_minutes_on_a_day_are_of_the_weeks_own_hours(studio):
    """They are among those that are kept, as hours put on an hour are: the sums stay."""
    before = read_week(studio).book.own_totals()
    OwnSewingDayFactory(day=open_day(1), minutes=60)
    assert read_week(studio).book.own_totals() == before


@pytest.mark.parametrize("count", [1, 3])
def test_the_week_takes_no_query_for_them(studio, owner, lines, count, django_assert_num_queries):
    for number in range(count):
        ticket = received(studio, owner, trousers(hem()))
        SewingDayFactory(line=Line.objects.get(garment__ticket=ticket), day=open_day(1))
        OwnSewingDayFactory(day=open_day(1) + timedelta(days=number), make=MakeFactory())
    with django_assert_num_queries(11):
        read_week(studio)
