"""The usual week and the days on which the studio is closed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time, timedelta

import holidays
from django.db import transaction

from studio.shop.models import DayOff, WorkingDay


@dataclass(frozen=True)
class Day:
    """One weekday (Monday 0): when the bench opens and how many minutes it has."""

    weekday: int
    starts: time
    minutes: int


def save_week(*, days: Iterable[Day]) -> None:
    with transaction.atomic():
        for day in days:
            WorkingDay.objects.update_or_create(
                weekday=day.weekday, defaults={"starts": day.starts, "minutes": day.minutes}
            )


def add_days_off(*, first: date, last: date, reason: str) -> int:
    """Close the studio from ``first`` to ``last``; how many days that were open until now.

    A day that is closed already keeps its reason, so sending it twice changes nothing.
    """
    days = [first + timedelta(days=step) for step in range((last - first).days + 1)]
    return _close(dict.fromkeys(days, reason))


def add_public_holidays(*, country: str, year: int) -> int:
    """Close the studio on the country's public holidays; how many days that were open until now."""
    found = holidays.country_holidays(country, years=year, language="en_US")
    return _close({day: name[:100] for day, name in found.items()})


def _close(days: dict[date, str]) -> int:
    with transaction.atomic():
        closed = set(DayOff.objects.filter(day__in=days).values_list("day", flat=True))
        fresh = [DayOff(day=day, reason=why) for day, why in days.items() if day not in closed]
        DayOff.objects.bulk_create(fresh, ignore_conflicts=True)
    return len(fresh)


def remove_day_off(*, day_off: DayOff) -> None:
    with transaction.atomic():
        day_off.delete()
