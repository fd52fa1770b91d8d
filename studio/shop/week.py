"""The studio's working week: on which days the bench is open, and on which it is closed."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet

from studio.shop import clock
from studio.shop.models import DayOff, WorkingDay


@dataclass(frozen=True)
class Week:
    """Weekdays with bench minutes (Monday is 0) and the single days on which nobody works."""

    weekdays: frozenset[int]
    days_off: frozenset[date]

    def is_open(self, day: date) -> bool:
        """Whether the bench is open; a studio that has not said its hours is never closed."""
        return day not in self.days_off and (not self.weekdays or day.weekday() in self.weekdays)

    def first_open(self, day: date) -> date:
        """``day`` itself or the next day on which the bench is open."""
        while not self.is_open(day):
            day += timedelta(days=1)
        return day


def load_week() -> Week:
    """The week as it is set up, in two queries."""
    weekdays = WorkingDay.objects.filter(minutes__gt=0).values_list("weekday", flat=True)
    off = DayOff.objects.filter(day__gte=clock.today()).values_list("day", flat=True)
    return Week(frozenset(weekdays), frozenset(off))


def first_working_day(after_days: int, week: Week | None = None) -> date:
    """The first day on which the bench is open, ``after_days`` from today or later."""
    return (week or load_week()).first_open(clock.today() + timedelta(days=after_days))


def coming_days_off() -> QuerySet[DayOff]:
    """Closed days from today on, the next one first."""
    return DayOff.objects.filter(day__gte=clock.today())
