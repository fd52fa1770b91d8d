"""The promise as a small calendar: weeks of days, each safe, at own hours, or too full."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from jobs.planning.honest_date import DayState, PromiseDay, WeekAnswer, promise_calendar
from jobs.planning.plan.book import monday_of

WEEKS, MOST_WEEKS = 3, 6
"""Weeks that are shown, and how many where the first possible day lies far ahead."""
MOST_EARLIER = 4


@dataclass(frozen=True)
class PromiseCalendar:
    """Weeks from Monday to Sunday, None for days before today.

    ``day`` is the one on the form, ``safe`` the one that is proposed, ``earlier`` those that a rush
    may be promised for, the latest and so the cheapest first.
    """

    day: date | None
    safe: date | None
    days: tuple[PromiseDay, ...]

    @property
    def weeks(self) -> list[list[PromiseDay | None]]:
        """From the week of the first day that can be had, or this one if that is near."""
        if not self.days:
            return []
        cells: list[PromiseDay | None] = [None] * self.days[0].day.weekday()
        cells += self.days
        rows = [cells[at : at + 7] for at in range(0, len(cells), 7)]
        while len(rows) > MOST_WEEKS and not any(_can_be_had(cell) for cell in rows[0]):
            rows.pop(0)
        return rows[:MOST_WEEKS]

    @property
    def chosen(self) -> PromiseDay | None:
        return next((row for row in self.days if row.day == self.day), None)

    @property
    def tight(self) -> frozenset[date]:
        """Days that cost nobody anything as it stands, but lie before the safe one."""
        return frozenset(
            row.day
            for row in self.days
            if row.state is DayState.SAFE and self.safe and row.day < self.safe
        )

    @property
    def earlier(self) -> list[PromiseDay]:
        rush = [row for row in self.days if row.rush and (not self.safe or row.day < self.safe)]
        return rush[::-1][:MOST_EARLIER]

    @property
    def full_until(self) -> date | None:
        """The last day before the earlier ones that is too full."""
        first = min((row.day for row in self.earlier), default=None)
        full = [row.day for row in self.days if row.state is DayState.FULL]
        return max((day for day in full if first is None or day < first), default=None)


def _can_be_had(cell: PromiseDay | None) -> bool:
    return cell is not None and cell.state in {DayState.SAFE, DayState.OWN}


def calendar_of(answer: WeekAnswer, day: date | None, today: date) -> PromiseCalendar:
    """Whole weeks from today on, as many as reach the safe day and a few after it."""
    safe = answer.safe
    last = monday_of(today) + timedelta(weeks=WEEKS, days=-1)
    if safe:
        last = max(last, monday_of(safe + timedelta(days=4)) + timedelta(days=6))
    days = promise_calendar(answer, (last - today).days + 1)
    return PromiseCalendar(day, safe, tuple(no_later_less_likely(days)))


def no_later_less_likely(days: Iterable[PromiseDay]) -> Iterator[PromiseDay]:
    """Work may be sewn as for an earlier day that takes no more own hours: it is no less likely."""
    before: list[PromiseDay] = []
    for row in days:
        if row.chance is None:
            yield row
            continue
        likely = (day.chance or 0 for day in before if day.own <= row.own)
        before.append(replace(row, chance=max(row.chance, *likely, 0)))
        yield before[-1]
