"""Minutes at the bench: by day, week, year and make, against those agreed, and those gone by."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from fractions import Fraction
from statistics import median

from django.db.models import F, QuerySet, Sum, TextField
from django.db.models.functions import Cast

from jobs.makes.models import Make, MakeState, Pattern
from jobs.planning.core import Timed
from jobs.planning.models import Appointment, BenchTime, HoursTaken
from jobs.planning.plan.bench import MINUTE, Busy, lay_out
from jobs.planning.plan.book import OwnTotals, monday_of
from jobs.planning.queries import StudioWeek, minutes_by_day, read_times
from jobs.tickets import quoting
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.models import User
from studio.shop.money import round_half_up

RECENT = 400
"""Bench times that are looked at: what took long years ago says little about today."""


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
class Learned:
    """What sewing a pattern took: the median of the ``minutes`` of so many ``makes``."""

    minutes: int
    makes: int


@dataclass(frozen=True)
class TakenInYear:
    """Own minutes that tickets took, and how many tickets did."""

    minutes: int
    tickets: int


def spent_by_day(first: date, last: date) -> dict[date, Spent]:
    """Each local day from ``first`` to ``last`` on which something was sewn. One query."""
    since, until = clock.days(first, last)
    days: dict[date, Spent] = defaultdict(Spent)
    for (day, purpose), minutes in minutes_by_day(read_times(since, until)).items():
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


def hours_taken(year: int) -> QuerySet[HoursTaken]:
    """The ledger of own hours of one year, the latest week first."""
    rows = HoursTaken.objects.filter(monday__year=year)
    return rows.select_related("ticket__client", "by")


def taken_in(year: int) -> TakenInYear:
    """The ledger of own hours, each week in the year of its Monday. One query."""
    rows = hours_taken(year).order_by().values_list("minutes", "ticket")
    return TakenInYear(sum(minutes for minutes, _ in rows), len({ticket for _, ticket in rows}))


def minutes_of(makes: Iterable[int]) -> dict[int, int]:
    """Minutes by key of the make, in one query. A clock that still runs does not count."""
    times = BenchTime.objects.filter(make__in=makes, minutes__isnull=False)
    return dict(times.order_by().values_list("make").annotate(total=Sum("minutes")))


def learned_minutes(patterns: Iterable[int]) -> dict[int, Learned]:
    """What finished makes of each pattern took, by its key; one that took no minutes says nothing.

    A make of several patterns tells of none of them alone. One query.
    """
    times = BenchTime.objects.filter(
        minutes__isnull=False,
        make__pattern__in=patterns,
        make__state=MakeState.FINISHED,
        make__further_patterns=None,
    )
    took: dict[int, list[int]] = defaultdict(list)
    rows = times.order_by().values_list("make__pattern", "make").annotate(total=Sum("minutes"))
    for pattern, _, total in rows:
        took[pattern] += [total] if total else []
    return {
        pattern: Learned(round_half_up(Fraction(median(map(Fraction, minutes)))), len(minutes))
        for pattern, minutes in took.items()
        if minutes
    }


@dataclass(frozen=True)
class HoursGuess:
    """How long a make or a pattern takes, and ``whence`` one knows."""

    minutes: int
    whence: str


def guess_by_pattern(pattern: Pattern, learned: Mapping[int, Learned]) -> HoursGuess | None:
    """What its makes took, else what is written on it."""
    if took := learned.get(pattern.pk):
        makes = "make" if took.makes == 1 else f"{took.makes} makes"
        return HoursGuess(took.minutes, f"as the {makes} before took")
    return HoursGuess(pattern.minutes, "by the pattern") if pattern.minutes else None


def guesses_of(
    makes: Iterable[Make], learned: Mapping[int, Learned] | None = None
) -> dict[int, HoursGuess]:
    """By key of the make: what was written on it, else what its pattern says, which was fetched.

    Of a finished make only what had been written: it took what it took. One query, or none where
    the caller knows what was ``learned`` of all their patterns.
    """
    makes = list(makes)
    if learned is None:
        learned = learned_minutes({make.pattern_id for make in makes if make.pattern_id})
    guesses: dict[int, HoursGuess] = {}
    for make in makes:
        before = {} if make.state == MakeState.FINISHED else learned
        by_pattern = guess_by_pattern(make.pattern, before) if make.pattern else None
        guess = HoursGuess(make.minutes, "your guess") if make.minutes else by_pattern
        guesses |= {make.pk: guess} if guess else {}
    return guesses


@dataclass(frozen=True)
class LineTime:
    """Minutes spent on an operation by clocks that were stopped, and whose clock runs for it."""

    spent: int = 0
    runs_for: tuple[User, ...] = ()


def times_on(ticket: Ticket) -> dict[int, LineTime]:
    """What was spent on each operation of a ticket, by its key. One query."""
    times = BenchTime.objects.filter(line__garment__ticket=ticket).select_related("by")
    spent: dict[int, LineTime] = {}
    for row in times:
        if row.line_id is not None:
            so_far = spent.get(row.line_id, LineTime())
            running = (row.by,) if row.minutes is None else ()
            minutes = so_far.spent + (row.minutes or 0)
            spent[row.line_id] = LineTime(minutes, so_far.runs_for + running)
    return spent


def timed_jobs() -> list[Timed]:
    """Finished operations with their minutes as agreed and as timed, newest first. One query.

    Of `RECENT` bench times. Operations are known by their name. One whose first sittings may lie
    beyond them is left out, and so is work without minutes.
    """
    times = BenchTime.objects.filter(line__done_at__isnull=False, minutes__gt=0)
    rows = list(
        times.order_by("-started_at", "-pk").values(
            "line",
            "minutes",
            name=F("line__name"),
            minutes_each=F("line__minutes_each"),
            quantity=F("line__quantity"),
            frozen=Cast("line__surcharges", TextField()),
        )[:RECENT]
    )
    took: dict[int, int] = defaultdict(int)
    for row in rows:
        took[row["line"]] += row["minutes"] or 0
    if len(rows) == RECENT:
        del took[rows[-1]["line"]]
    lines = {row["line"]: row for row in rows}
    estimates = quoting.minutes_of_rows(lines[line] for line in took)
    return [
        Timed(lines[line]["name"], estimate, minutes)
        for (line, minutes), estimate in zip(took.items(), estimates, strict=True)
        if estimate
    ]


ENOUGH_TIMED = 5
"""Finished pieces of an operation below which the clock says nothing about it."""


@dataclass(frozen=True)
class ClockSays:
    """The middle one of the minutes a piece took, and how many operations were timed."""

    minutes: int
    timed: int


def clock_on(operation: int) -> ClockSays | None:
    """What the latest finished work by this key took, without surcharges; None with too few.

    One query.
    """
    times = (
        BenchTime.objects.filter(
            line__operation=operation, line__done_at__isnull=False, line__surcharges=[]
        )
        .filter(minutes__gt=0)
        .order_by("-line__done_at", "-line")
        .values_list("line", "line__quantity", "minutes")[:RECENT]
    )
    took: dict[int, Fraction] = defaultdict(Fraction)
    for line, quantity, minutes in times:
        took[line] += Fraction(minutes or 0, quantity)
    if len(took) < ENOUGH_TIMED:
        return None
    return ClockSays(round_half_up(Fraction(median(took.values()))), len(took))


def minutes_behind(week: StudioWeek) -> dict[tuple[date, str], int]:
    """Minutes of this week that are over: what was sewn, expected, and neither."""
    book, now = week.book, week.book.bench.now
    minutes = minutes_by_day(week.times)
    monday = monday_of(book.bench.today)
    others = [row for row in week.appointments if row.kind == Appointment.Kind.OTHER]
    rests = [
        *(Busy(row.starts, row.ends) for row in week.fittings if not row.fell_through),
        *(Busy(row.starts_at, row.ends_at) for row in others),
    ]
    for rest in rests:
        day = book.bench.day_of(rest.starts)
        if monday <= day and rest.starts < now:
            gone = (min(rest.ends, now) - rest.starts) // MINUTE
            minutes[day, "appointment"] = minutes.get((day, "appointment"), 0) + gone
    blocks = [row for row in week.appointments if row.kind == Appointment.Kind.OWN]
    whole = lay_out(
        clock.at(monday, time.min),
        book.bench.today.weekday() + 1,
        book.bench.zone,
        week.hours.shifts,
        closed=week.hours.closed,
        busy=[*rests, *(Busy(row.starts_at, row.ends_at) for row in blocks)],
        lost_percent=week.rules.lost_percent,
    )
    for ahead in range(book.bench.today.weekday() + 1):
        day = monday + timedelta(days=ahead)
        sewn = sum(minutes.get((day, purpose), 0) for purpose in BenchTime.Purpose.values)
        left = book.bench.minutes_on(day) if day == book.bench.today else 0
        # Where nobody's clock ran, nobody knows what was sewn: such a day has lost nothing.
        minutes[day, "lost"] = max(0, whole.minutes_on(day) - left - sewn) if sewn else 0
    return minutes


def own_by_week(week: StudioWeek, behind: Mapping[tuple[date, str], int]) -> dict[date, OwnTotals]:
    """What becomes of the owner's hours, and of this week how much of the bench went by unsewn."""
    own = week.book.own_totals()
    monday = monday_of(week.book.bench.today)
    gone = sum(minutes for (_, kind), minutes in behind.items() if kind == "lost")
    return {**own, monday: replace(own[monday], gone=gone)} if monday in own else own
