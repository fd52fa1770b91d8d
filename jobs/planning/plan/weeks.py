"""What has to be done by a day, the week as bars of hours (clients, own, appointments, free), and
what a usual week is made of.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from jobs.planning import core
from jobs.planning.plan.book import GLANCE, Book, monday_of


@dataclass(frozen=True)
class DayBar:
    """Minutes of one day. ``capacity`` is what the bench holds from now on.

    ``done`` are minutes already sewn that day, for the part of the week that is behind; ``lost``
    those of it in which nothing was.
    """

    day: date
    capacity: int
    clients: int
    own: int
    appointments: int
    free: int
    done_clients: int = 0
    done_own: int = 0
    done_releases: int = 0
    done_appointments: int = 0
    lost: int = 0

    @property
    def whole(self) -> int:
        """The length of the whole bar in minutes."""
        planned = self.clients + self.own + self.appointments + self.free
        return planned + self.sewn + self.done_appointments + self.lost

    @property
    def sewn(self) -> int:
        return self.done_clients + self.done_own + self.done_releases


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
    def releases(self) -> int:
        return self.total("done_releases")

    @property
    def appointments(self) -> int:
        return self.total("appointments") + self.total("done_appointments")

    @property
    def free(self) -> int:
        return self.total("free")

    @property
    def lost(self) -> int:
        return self.total("lost")

    @property
    def whole(self) -> int:
        return self.total("whole")

    @property
    def longest(self) -> int:
        """Minutes of the longest day, for bars of one scale; at least 1."""
        return max(1, *(day.whole for day in self.days))


def week_bars(
    book: Book,
    monday: date,
    done: Mapping[tuple[date, str], int] | None = None,
) -> WeekBars:
    """The seven days from ``monday``; days outside the laid-out bench hold what was done.

    ``done`` are minutes behind by day and what they went to: the purpose of the sewing,
    appointment, or lost.
    """
    sewn = done or {}
    days = (monday + timedelta(days=ahead) for ahead in range(7))
    return WeekBars(monday, tuple(day_bar(book, day, sewn) for day in days))


def day_bar(book: Book, day: date, sewn: Mapping[tuple[date, str], int]) -> DayBar:
    """One day: what is behind of it, as in `week_bars`, and what the plan makes of the rest."""
    capacity, clients, own = _planned(book, day)
    return DayBar(
        day=day,
        capacity=capacity,
        clients=clients,
        own=own + book.placed_on.get(day, 0),
        appointments=book.busy_on.get(day, 0),
        free=max(0, capacity - clients - own),
        done_clients=sewn.get((day, "client"), 0),
        done_own=sewn.get((day, "own"), 0),
        done_releases=sewn.get((day, "release"), 0),
        done_appointments=sewn.get((day, "appointment"), 0),
        lost=sewn.get((day, "lost"), 0),
    )


def _planned(book: Book, day: date) -> tuple[int, int, int]:
    """Bench minutes of a day, and what the plan gives of them to clients and to the owner."""
    first, last = max(0, book.bench.first_of_day(day)), book.bench.last_of_day(day)
    pieces = [piece for bucket in range(first, last + 1) for piece in book.plan.days[bucket]]
    own = sum(minutes for stage, minutes in pieces if stage.startswith(core.OWN))
    capacity = sum(book.capacity[first : last + 1])
    return capacity, sum(minutes for _, minutes in pieces) - own, own


def weeks_ahead(book: Book, done: Mapping[tuple[date, str], int] | None = None) -> list[WeekBars]:
    """This week, with what is ``done`` of it, and those after it."""
    first = monday_of(book.bench.today)
    return [week_bars(book, first + timedelta(weeks=ahead), done) for ahead in range(GLANCE)]


@dataclass(frozen=True)
class MustDoBy:
    """At least ``minutes`` of client work by the end of ``until``, and why.

    ``demand`` minutes are due by ``binding`` and only ``later`` are left after ``until``.
    ``free`` is what the must-do leaves of the bench time until then. ``needed`` are the ids of the
    stages it consists of.
    """

    until: date
    minutes: int
    capacity: int
    free: int
    demand: int
    later: int
    binding: date | None
    overfull: bool
    needed: frozenset[str] = frozenset()


def must_do(book: Book, until: date) -> MustDoBy:
    """The least client work up to and including ``until``."""
    by = max(0, book.bench.last_of_day(until))
    least = core.must_do(book.capacity, book.prepared, by)
    return MustDoBy(
        until=until,
        minutes=least.minutes,
        capacity=least.capacity,
        free=least.free,
        demand=least.demand,
        later=least.later_capacity,
        binding=None if least.binding_due is None else book.day_of(least.binding_due),
        overfull=least.relaxed,
        needed=frozenset(stage for bucket in least.plan for stage, _ in bucket),
    )


@dataclass(frozen=True)
class Shares:
    """Minutes of a day or of a week; the three parts are the whole."""

    clients: int
    own: int
    lost: int

    @property
    def minutes(self) -> int:
        return self.clients + self.own + self.lost

    def __add__(self, other: "Shares") -> "Shares":
        parts = (self.clients + other.clients, self.own + other.own, self.lost + other.lost)
        return Shares(*parts)


def week_shares(days: Sequence[int], own_percent: int, lost_percent: int) -> list[Shares]:
    """The bench minutes of each day in its parts, each rounded to whole minutes.

    Lost is what the plan does not count on, a day at a time; own sewing is the share of the whole
    week's bench, laid out day by day so that the days add up to it, as far as there is time left.
    """
    shares, bench, laid = [], 0, 0
    for minutes in days:
        bench += minutes
        left = minutes * (100 - lost_percent) // 100
        own = min(left, bench * own_percent // 100 - laid)
        laid += own
        shares.append(Shares(left - own, own, minutes - left))
    return shares
