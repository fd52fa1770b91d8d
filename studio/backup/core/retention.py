"""Which copies are kept: the last of each day, week and month, as far back as the rule says."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta


@dataclass(frozen=True)
class KeepRule:
    """How many days, weeks and months back the last copy of each is kept."""

    days: int = 7
    weeks: int = 5
    months: int = 12


def kept(moments: Iterable[datetime], rule: KeepRule = KeepRule()) -> set[datetime]:
    """Those of ``moments`` that the rule keeps; days are those of the moments' own zone.

    Only days, weeks and months with a copy count, so that a studio which rested for a year loses
    none by resting. Weeks are those of ISO 8601. The newest is always kept. O(n log n).
    """
    newest_first = sorted(moments, reverse=True)
    periods: list[tuple[int, Callable[[date], tuple[int, ...]]]] = [
        (rule.days, lambda day: (day.toordinal(),)),
        (rule.weeks, lambda day: tuple(day.isocalendar())[:2]),
        (rule.months, lambda day: (day.year, day.month)),
    ]
    keep = set(newest_first[:1])
    for most, period_of in periods:
        last: dict[tuple[int, ...], datetime] = {}
        for moment in newest_first:
            last.setdefault(period_of(moment.date()), moment)
        keep |= set(list(last.values())[:most])
    return keep


def night_of(moment: datetime, hour: int = 2) -> date:
    """The day whose night's copy is wanted at a local moment: before ``hour`` yesterday's."""
    return (moment - timedelta(hours=hour)).date()
