"""How a body changes between sheets, and what it may come to on a day that is still ahead."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

from dateutil.relativedelta import relativedelta

from clients.fit.lengths import Length
from clients.fit.measures import AT_WAIST, Spot, Values
from clients.fit.quantiles import PLACES, t_quantile
from studio.shop.money import exact, round_half_up

# Texas extension service, "Principles of Pattern Alteration": measure again every six months.
GOOD_FOR = relativedelta(months=6)
FEWEST = 3  # days; through two points every line fits
COVERAGE = Decimal("0.8")  # four times out of five
# Two takings of one girth by the same hand differ by about this much (common practice).
TAPE_MM = Decimal(5)
FINAL_FITTING = timedelta(days=10)  # the last fitting lies within these before the day


@dataclass(frozen=True)
class Taking:
    """What was taken on one day, by spot, and where waist and front length begin."""

    day: date
    lengths: Mapping[Spot, Length]
    waist_at: str = ""
    front_from: str = ""

    @cached_property
    def values(self) -> Values:
        """Millimetres by spot."""
        return {spot: length.mm for spot, length in self.lengths.items()}


@dataclass(frozen=True)
class Trend:
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


def comparable(key: str, one: Taking, other: Taking) -> bool:
    """Whether both took this measure from and to the same place."""
    if key in AT_WAIST and one.waist_at != other.waist_at:
        return False
    return key != "front_waist" or one.front_from == other.front_from


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
) -> Trend | None:
    """The least-squares line through ``points`` (days that differ, mm) and its answer for ``day``.

    The interval is where one new taking on ``day`` falls with probability ``coverage``, if the
    change goes on as it did: x̂ ± t(n-2) s √(1 + 1/n + (d - d̄)²/Sdd). None with two days or fewer:
    too few. Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 4.5.1.2 (prediction
    of a new value). O(n).
    """
    count = len(points)
    if count < FEWEST:
        return None
    days = [Fraction(taken.toordinal()) for taken, _ in points]
    sizes = [exact(mm) for _, mm in points]
    middle, mean = _sum(days) / count, _sum(sizes) / count
    spread = _sum((one - middle) ** 2 for one in days)
    if not spread:
        raise ValueError("A trend needs days that differ.")
    pairs = [(one - middle, size - mean) for one, size in zip(days, sizes, strict=True)]
    slope = _sum(d * s for d, s in pairs) / spread
    left = _sum((s - slope * d) ** 2 for d, s in pairs) / (count - 2)
    away = day.toordinal() - middle
    variance = left * (1 + Fraction(1, count) + away**2 / spread)
    half = t_quantile((1 + coverage) / 2, count - 2) * _decimal(variance).sqrt(PLACES)
    return Trend(
        day,
        count,
        slope=_rounded(slope),
        expected=_rounded(mean + slope * away),
        half=_rounded(exact(half)),
    )


def _sum(parts: Iterable[Fraction]) -> Fraction:
    return sum(parts, Fraction(0))


def _decimal(value: Fraction) -> Decimal:
    return PLACES.divide(Decimal(value.numerator), Decimal(value.denominator))


def _rounded(mm: Fraction) -> Decimal:
    return Decimal(round_half_up(mm * 10_000)).scaleb(-4)
