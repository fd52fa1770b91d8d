"""What is known of a body: of each measure the newest taking, and how good it still is."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from dateutil.relativedelta import relativedelta

from clients.fit.changes import GOOD_FOR, Taking
from clients.fit.lengths import Length
from clients.fit.measures import AT_WAIST, SIDES, Side

# A child's clothes grow out of a sheet sooner than those of adults (common practice).
CHILD_GOOD_FOR = relativedelta(months=3)
PREGNANT_GOOD_FOR = relativedelta(weeks=4)
LAST_WEEK = 42


@dataclass(frozen=True)
class Known:
    """The newest value of a measure: one for both sides, or one for each that was taken."""

    key: str
    taking: Taking
    sides: dict[Side, Length]

    @property
    def name(self) -> str:
        return self.taking.measures[self.key].name

    @property
    def waist_at(self) -> str:
        """Where the waist was taken, of a measure that begins there."""
        return self.taking.waist_at if self.key in AT_WAIST else ""


def newest_of(takings: Sequence[Taking], key: str) -> Known | None:
    """The last of ``takings``, the oldest first, in which the measure was taken. O(sheets)."""
    for taking in reversed(takings):
        sides: dict[Side, Length] = {
            side: taking.lengths[key, side]
            for side in ("", *SIDES)
            if (key, side) in taking.lengths
        }
        if sides:
            return Known(key, taking, sides)
    return None


def known_of(takings: Iterable[Taking]) -> dict[str, Known]:
    """The newest value of every measure that was ever taken. O(measures x sheets)."""
    ordered = [*takings]
    keys = (key for taking in ordered for key in taking.measures)
    newest = ((key, newest_of(ordered, key)) for key in dict.fromkeys(keys))
    return {key: known for key, known in newest if known}


def doubt_of_age(day: date, today: date, *, child: bool, pregnant: bool = False) -> str:
    """Why measures of ``day`` are better taken again; empty while they are good.

    Six months after the Texas extension service; a child's three, and four weeks of a pregnancy
    (common practice).
    """
    if child and day + CHILD_GOOD_FOR < today:
        return "a child has grown in three months"
    if pregnant and day + PREGNANT_GOOD_FOR < today:
        return "taken in a pregnancy, over four weeks ago"
    return "older than six months" if day + GOOD_FOR < today else ""


def week_on(day: date, week: int | None, today: date) -> int | None:
    """The week of a pregnancy on ``today``, of which ``day`` knew the ``week``, 1 if none.

    None once it is over: the longest have 42 weeks (from memory).
    """
    now = (week or 1) + (today - day).days // 7
    return now if now <= LAST_WEEK else None
