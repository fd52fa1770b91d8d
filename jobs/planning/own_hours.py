"""What the page of own hours shows: the next weeks, the ledger, and the time that is lost."""

from dataclasses import dataclass
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import QuerySet, Sum

from jobs.planning.models import Appointment, BenchTime, Fitting, HoursTaken, OwnWeek
from jobs.planning.plan.bench import Busy, LostTime, lay_out, lost_time
from jobs.planning.plan.book import monday_of
from jobs.planning.reading import Reading, read_shifts, usual_minutes
from studio.shop import clock
from studio.shop.models import DayOff, Profile

WEEKS = 6
MEASURED_DAYS = 56
ENOUGH_DAYS = 5
"""Days with a running clock below which they say nothing about lost time."""

FOR_THE_OWNER = [BenchTime.Purpose.OWN, BenchTime.Purpose.RELEASE]


@dataclass(frozen=True)
class OwnRow:
    """One week's own minutes: usual, chosen instead (or None), sewn, on days, and still loose.

    ``loose`` is what the plan finds room for without breaking a promise, makes with a day included.
    """

    monday: date
    usual: int
    chosen: int | None
    spent: int
    placed: int
    loose: int

    @property
    def wanted(self) -> int:
        return self.usual if self.chosen is None else self.chosen

    @property
    def missing(self) -> int:
        """What client work leaves no room for."""
        return max(0, self.wanted - self.spent - self.placed - self.loose)


def coming_mondays() -> list[date]:
    first = monday_of(clock.today())
    return [first + timedelta(weeks=ahead) for ahead in range(WEEKS)]


def chosen_minutes() -> dict[date, int]:
    """The coming weeks that differ from the usual share, in one query."""
    rows = OwnWeek.objects.filter(monday__in=coming_mondays())
    return dict(rows.values_list("monday", "minutes"))


def own_rows(reading: Reading, chosen: dict[date, int]) -> list[OwnRow]:
    """This week and the five after it."""
    book = reading.book
    weeks = zip(book.targets[:WEEKS], book.given.by_week, book.plan.own, strict=False)
    return [
        OwnRow(
            monday=target.monday,
            usual=usual_minutes(reading.rules, reading.shop, target.monday),
            chosen=chosen.get(target.monday),
            spent=target.spent,
            placed=target.placed,
            loose=given + week.kept,
        )
        for target, given, week in weeks
    ]


@dataclass(frozen=True)
class OwnYear:
    """A calendar year, each week in the year of its Monday: own minutes sewn, and taken."""

    year: int
    sewn: int
    taken: int


def own_year(year: int) -> OwnYear:
    """Two queries."""
    since, until = (clock.at(date(one, 1, 1), time.min) for one in (year, year + 1))
    sewn = BenchTime.objects.filter(
        purpose__in=FOR_THE_OWNER, started_at__gte=since, started_at__lt=until
    )
    return OwnYear(year, _total(sewn), _total(hours_taken(year)))


def hours_taken(year: int) -> QuerySet[HoursTaken]:
    """The ledger of one year, the latest week first."""
    rows = HoursTaken.objects.filter(monday__year=year)
    return rows.select_related("ticket__client", "by")


def measured_loss(studio: Profile) -> LostTime | None:
    """What the bench times of the last eight weeks say of lost time; None with too few days.

    Five queries.
    """
    today = clock.today()
    first = today - timedelta(days=MEASURED_DAYS)
    since, until = (clock.at(day, time.min) for day in (first, today))
    inside = {"starts_at__gte": since, "starts_at__lt": until}
    fittings = Fitting.objects.filter(**inside, state=Fitting.State.KEPT)
    others = Appointment.objects.filter(**inside, kind=Appointment.Kind.OTHER)
    rests: list[Fitting | Appointment] = [*fittings, *others]
    times = BenchTime.objects.filter(started_at__gte=since, started_at__lt=until).order_by()
    bench = lay_out(
        since,
        MEASURED_DAYS,
        ZoneInfo(studio.time_zone),
        read_shifts(),
        closed=DayOff.objects.filter(day__gte=first, day__lt=today).values_list("day", flat=True),
        busy=[Busy(one.starts_at, one.ends_at) for one in rests],
    )
    sewn = [
        Busy(starts, starts + timedelta(minutes=minutes))
        for starts, minutes in times.values_list("started_at", "minutes")
        if minutes
    ]
    found = lost_time(bench, sewn)
    return found if found.days >= ENOUGH_DAYS else None


def _total(rows: QuerySet) -> int:
    return rows.order_by().aggregate(total=Sum("minutes"))["total"] or 0
