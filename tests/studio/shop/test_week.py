"""The first day on which the bench is open. Days of the week are checked by a printed calendar."""

from datetime import date

import pytest
import time_machine

from studio.shop.models import WorkingDay
from studio.shop.week import Week, first_working_day, load_week
from tests import factories

FRIDAY = date(2026, 11, 27)
SATURDAY = date(2026, 11, 28)
MONDAY = date(2026, 11, 30)
TUESDAY = date(2026, 12, 1)


@pytest.fixture(autouse=True)
def _friday():
    with time_machine.travel("2026-11-27 12:00Z", tick=False):
        yield


def test_days_off_and_the_weekend_are_stepped_over(studio):
    factories.DayOffFactory(day=MONDAY)

    assert first_working_day(0) == FRIDAY
    assert first_working_day(1) == TUESDAY
    assert first_working_day(4) == TUESDAY


def test_a_weekday_without_minutes_is_closed(studio):
    WorkingDay.objects.filter(weekday=TUESDAY.weekday()).update(minutes=0)

    assert first_working_day(4) == date(2026, 12, 2)


def test_the_day_is_the_studios_own(studio):
    studio.time_zone = "Pacific/Auckland"
    studio.save()
    from studio.shop import clock

    clock.activate(studio)
    # 12:00 UTC on Friday is 01:00 on Saturday in Auckland, thirteen hours ahead in summer.
    assert first_working_day(0) == MONDAY


@pytest.mark.django_db
def test_a_studio_without_hours_is_never_closed():
    assert first_working_day(1) == SATURDAY


def test_the_week_is_read_in_two_queries(studio, django_assert_num_queries):
    for day in (MONDAY, TUESDAY, SATURDAY):
        factories.DayOffFactory(day=day)
    with django_assert_num_queries(2):
        assert load_week() == Week(frozenset(range(5)), frozenset({MONDAY, TUESDAY, SATURDAY}))
