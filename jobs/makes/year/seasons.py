"""The four seasons of a year, as the owner's own sewing counts them: plain Python.

A season is three whole months. Which ones is the owner's: the month in which winter begins tells
all four, on either half of the earth. Meteorological winter begins in December in the north and in
June in the south; who would rather have quarters of the calendar lets it begin in January (July).
A season that crosses the year belongs to the year it ends in, so that a year is always four whole
seasons, and every day lies in exactly one of them.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from functools import total_ordering

from dateutil.relativedelta import relativedelta

MONTHS = 3


class Name(StrEnum):
    """In the order in which they follow each other."""

    WINTER = "winter"
    SPRING = "spring"
    SUMMER = "summer"
    AUTUMN = "autumn"


@total_ordering
@dataclass(frozen=True)
class Season:
    """``first`` is its first day; ``year`` the year it belongs to."""

    name: Name
    year: int
    first: date

    def __lt__(self, other: "Season") -> bool:
        return self.first < other.first

    def __str__(self) -> str:
        return f"{self.name.capitalize()} {self.year}"

    @property
    def last(self) -> date:
        return self.first + relativedelta(months=MONTHS) - timedelta(days=1)

    @property
    def year_before(self) -> "Season":
        """The same season of the year before, a winter with its own last of February."""
        return replace(self, year=self.year - 1, first=self.first - relativedelta(years=1))

    @property
    def months(self) -> str:
        """Such as *Dec to Feb*."""
        return f"{self.first:%b} to {self.last:%b}"

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last


def season(year: int, name: Name, winter_begins: int) -> Season:
    """That season of the year, where winter begins in month ``winter_begins`` (1 to 12)."""
    begins = (winter_begins - 1 + MONTHS * list(Name).index(name)) % 12 + 1
    ends_next_year = begins + MONTHS - 1 > 12
    return Season(name, year, date(year - ends_next_year, begins, 1))


def seasons_of(year: int, winter_begins: int) -> list[Season]:
    """The four seasons that belong to the year, the earliest first."""
    return sorted(season(year, name, winter_begins) for name in Name)


def season_of(day: date, winter_begins: int) -> Season:
    """The one that the day lies in."""
    return next(
        candidate
        for year in (day.year, day.year + 1)
        for candidate in seasons_of(year, winter_begins)
        if day in candidate
    )
