"""How a body changes between sheets, and what it may come to on a day that is still ahead."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

from dateutil.relativedelta import relativedelta

from clients.fit.lengths import Length
from clients.fit.measures import AT_WAIST, MEASURES, Measures, Spot, Values
from clients.fit.regression import least_squares
from studio.shop.money import exact, round_half_up

# Texas extension service, "Principles of Pattern Alteration": measure again every six months.
GOOD_FOR = relativedelta(months=6)
COVERAGE = Decimal("0.8")  # four times out of five
# Two takings of one girth by the same hand differ by about this much (common practice).
TAPE_MM = Decimal(5)
FINAL_FITTING = timedelta(days=10)  # the last fitting lies within these before the day


@dataclass(frozen=True)
class Taking:
    """What was taken on one day, by spot, and where waist and front length begin.

    ``measures`` knows each that was taken: those of the list, and the owner's own.
    """

    day: date
    lengths: Mapping[Spot, Length]
    waist_at: str = ""
    front_from: str = ""
    measures: Measures = field(default_factory=lambda: MEASURES)

    @cached_property
    def values(self) -> Values:
        """Millimetres by spot."""
        return {spot: length.mm for spot, length in self.lengths.items()}


@dataclass(frozen=True)
class TrendLine:
    """A straight line through ``count`` days, and where it leads on ``day``.

    ``slope`` is mm a day, ``expected`` mm; ``half`` is half the width of the prediction interval in
    mm as the regression gives it. All rounded half up to four decimals.
    """

    day: date
    count: int
    slope: Decimal
    expected: Decimal
    half: Decimal

    @property
    def low(self) -> Decimal:
        return self.expected - max(self.half, TAPE_MM)

    @property
    def high(self) -> Decimal:
        return self.expected + max(self.half, TAPE_MM)

    def growing(self, today: Decimal) -> tuple[Decimal, Decimal, Decimal]:
        """Low, expected and high of a body that grows: none of them below the ``today`` in mm."""
        return max(self.low, today), max(self.expected, today), max(self.high, today)


@dataclass(frozen=True)
class Course:
    """One measure through the sheets: ``points`` from the oldest to the newest, in mm."""

    spot: Spot
    points: tuple[tuple[date, Decimal], ...] = ()

    @property
    def last(self) -> Decimal:
        return self.points[-1][1]

    @property
    def change(self) -> Decimal | None:
        """Since the sheet before, in mm."""
        return self.last - self.points[-2][1] if len(self.points) > 1 else None


def is_old(taken_on: date, today: date) -> bool:
    """Whether a sheet is older than six months, by the calendar."""
    return taken_on + GOOD_FOR < today


def comparable(key: str, first: Taking, second: Taking) -> bool:
    """Whether both took this measure from and to the same place."""
    if key in AT_WAIST and first.waist_at != second.waist_at:
        return False
    return key != "front_waist" or first.front_from == second.front_from


def newest(takings: Iterable[Taking], spot: Spot) -> Taking | None:
    """The last of ``takings``, the oldest first, in which ``spot`` was taken."""
    return next((taking for taking in reversed([*takings]) if spot in taking.values), None)


def changed(now: Taking, before: Taking | None, spot: Spot) -> Decimal | None:
    """The difference in mm; None where there is nothing to compare with."""
    if before is None or not comparable(spot[0], now, before):
        return None
    if spot not in now.values or spot not in before.values:
        return None
    return now.values[spot] - before.values[spot]


def course(takings: Iterable[Taking], spot: Spot) -> Course:
    """The days on which ``spot`` was taken at the place where it was taken last.

    ``takings`` in any order; of several on one day the last of them counts. O(n log n).
    """
    ordered = sorted((taking for taking in takings if spot in taking.values), key=lambda t: t.day)
    if not ordered:
        return Course(spot)
    by_day = {t.day: t.values[spot] for t in ordered if comparable(spot[0], t, ordered[-1])}
    return Course(spot, tuple(by_day.items()))


def trend(
    points: Sequence[tuple[date, Decimal]], day: date, coverage: Decimal = COVERAGE
) -> TrendLine | None:
    """The least-squares line through ``points`` (days that differ, mm) and its answer for ``day``.

    The interval is where one new taking on ``day`` falls with probability ``coverage``, if the
    change goes on as it did. None with two days or fewer: too few. O(n).
    """
    line = least_squares([(Fraction(taken.toordinal()), exact(mm)) for taken, mm in points])
    if line is None:
        return None
    at = Fraction(day.toordinal())
    return TrendLine(
        day,
        line.count,
        slope=_rounded(line.slope),
        expected=_rounded(line.at(at)),
        half=_rounded(line.half(at, coverage)),
    )


def _rounded(mm: Fraction) -> Decimal:
    return Decimal(round_half_up(mm * 10_000)).scaleb(-4)
