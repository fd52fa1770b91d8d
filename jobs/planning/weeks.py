"""The week as bars of hours: clients, own, appointments, free."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from jobs.planning.bench import MINUTE, Busy
from jobs.planning.book import Book, monday_of
from jobs.planning.core.share import OWN


@dataclass(frozen=True)
class DayBar:
    """Minutes of one day. ``capacity`` is what the bench holds from now on.

    ``done`` are minutes already sewn that day, for the part of the week that is behind.
    """

    day: date
    capacity: int
    clients: int
    own: int
    appointments: int
    free: int
    done_clients: int = 0
    done_own: int = 0

    @property
    def whole(self) -> int:
        """The length of the whole bar in minutes."""
        sewn = self.done_clients + self.done_own
        return self.clients + self.own + self.appointments + self.free + sewn


@dataclass(frozen=True)
class WeekBars:
    """Seven days and their sums."""

    monday: date
    days: tuple[DayBar, ...]

    def total(self, name: str) -> int:
        return sum(getattr(day, name) for day in self.days)

    @property
    def clients(self) -> int:
        """Client minutes of the week, sewn and planned."""
        return self.total("clients") + self.total("done_clients")

    @property
    def own(self) -> int:
        return self.total("own") + self.total("done_own")

    @property
    def share(self) -> int | None:
        """The own part of all sewing in whole percent; None when there is none."""
        both = self.clients + self.own
        return (200 * self.own + both) // (2 * both) if both else None


def week_bars(
    book: Book, monday: date, done: dict[tuple[date, str], int] | None = None
) -> WeekBars:
    """The seven days from ``monday``; days outside the laid-out bench hold what was done."""
    sewn = done or {}
    days = [_bar(book, monday + timedelta(days=ahead), sewn) for ahead in range(7)]
    return WeekBars(monday, tuple(days))


def _bar(book: Book, day: date, sewn: dict[tuple[date, str], int]) -> DayBar:
    first, last = book.bench.first_of_day(day), book.bench.last_of_day(day)
    inside = range(max(0, first), last + 1) if day >= book.bench.today else range(0)
    pieces = [piece for bucket in inside for piece in book.plan.days[bucket]]
    own = sum(minutes for stage, minutes in pieces if stage.startswith(OWN))
    clients = sum(minutes for _, minutes in pieces) - own
    capacity = sum(book.capacity[bucket] for bucket in inside)
    placed = _minutes_on(book, book.blocks, day)
    return DayBar(
        day=day,
        capacity=capacity,
        clients=clients,
        own=own + placed,
        appointments=_minutes_on(book, book.busy, day),
        free=max(0, capacity - clients - own),
        done_clients=sewn.get((day, "client"), 0),
        done_own=sewn.get((day, "own"), 0),
    )


def _minutes_on(book: Book, stretches: Iterable[Busy], day: date) -> int:
    """Minutes by the clock of the stretches that start on a day and are not over."""
    return sum(
        (stretch.ends - max(stretch.starts, book.bench.now)) // MINUTE
        for stretch in stretches
        if book.bench.day_of(stretch.starts) == day and stretch.ends > book.bench.now
    )


def six_weeks(book: Book) -> list[WeekBars]:
    """This week and the five after it."""
    first = monday_of(book.bench.today)
    return [week_bars(book, first + timedelta(weeks=ahead)) for ahead in range(6)]
