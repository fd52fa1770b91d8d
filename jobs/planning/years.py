"""Minutes at the bench by calendar year, added up from the days that the week's page shows."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, time, timedelta

from jobs.planning.models import BenchTime
from jobs.planning.own_hours import hours_taken
from jobs.planning.plan.book import monday_of
from jobs.planning.records import read_times
from jobs.planning.week_sheet import sewn
from studio.shop import clock


@dataclass(frozen=True)
class Spent:
    """Minutes at the bench, by whose they were."""

    client: int = 0
    own: int = 0
    release: int = 0

    @property
    def mine(self) -> int:
        return self.own + self.release

    @property
    def whole(self) -> int:
        return self.mine + self.client

    def __add__(self, other: "Spent") -> "Spent":
        return Spent(self.client + other.client, self.own + other.own, self.release + other.release)


@dataclass(frozen=True)
class TakenInYear:
    """Own minutes that tickets took, and how many tickets did."""

    minutes: int
    tickets: int


def spent_by_day(first: date, last: date) -> dict[date, Spent]:
    """Each local day from ``first`` to ``last`` on which something was sewn. One query."""
    since, until = (clock.at(day, time.min) for day in (first, last + timedelta(days=1)))
    days: dict[date, Spent] = defaultdict(Spent)
    for (day, purpose), minutes in sewn(read_times(since, until)).minutes.items():
        days[day] += Spent(**{BenchTime.Purpose(purpose).value: minutes})
    return dict(days)


def spent_by_year(days: dict[date, Spent]) -> dict[int, Spent]:
    years: dict[int, Spent] = defaultdict(Spent)
    for day, spent in days.items():
        years[day.year] += spent
    return dict(years)


def spent_by_week(year: int) -> dict[date, Spent]:
    """By Monday, each with only those of its days that are in the year. One query."""
    weeks: dict[date, Spent] = defaultdict(Spent)
    for day, spent in sorted(spent_by_day(date(year, 1, 1), date(year, 12, 31)).items()):
        weeks[monday_of(day)] += spent
    return dict(weeks)


def best_month(days: dict[date, Spent], year: int) -> tuple[date, int] | None:
    """The first day of the month with most own minutes, and these; None where there are none."""
    months: dict[date, int] = defaultdict(int)
    for day, spent in days.items():
        if day.year == year and spent.mine:
            months[day.replace(day=1)] += spent.mine
    return max(months.items(), key=lambda month: month[1], default=None)


def taken_in(year: int) -> TakenInYear:
    """The ledger of own hours, each week in the year of its Monday. One query."""
    rows = hours_taken(year).order_by().values_list("minutes", "ticket")
    return TakenInYear(sum(minutes for minutes, _ in rows), len({ticket for _, ticket in rows}))
