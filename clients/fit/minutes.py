"""Minutes of a hem by its size: a straight line through the hems that were timed.

The size of a hem is its edge in metres times its layers; minutes = a + b * size by least squares,
in exact fractions. The line is believed only where it does better than the plain median: each hem
is guessed from the others alone, by both, and the mean absolute errors are compared.

The error of a hem left out is its residual over one minus its leverage (D. M. Allen, "The
relationship between variable selection and data augmentation and a method for prediction",
Technometrics 16 (1974), 125-127), so that nothing is fitted twice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from studio.shop.money import round_half_up

FEWEST = 8
"""Timed hems below which nothing is said."""
MM_PER_METRE = 1000

# Student's t for 80 % between two ends, by 1 to 30 degrees of freedom, as printed tables have it;
# beyond them the last, which is a little wide (exactly 1.282 for ever more).
T_80 = [
    Decimal(thousandths).scaleb(-3)
    for thousandths in (
        3078, 1886, 1638, 1533, 1476, 1440, 1415, 1397, 1383, 1372, 1363, 1356, 1350, 1345, 1341,
        1337, 1333, 1330, 1328, 1325, 1323, 1321, 1319, 1318, 1316, 1315, 1314, 1313, 1311, 1310,
    )
]  # fmt: skip


def hem_size(edge_mm: Decimal, layers: int) -> Fraction:
    """Metres of edge times layers, exact."""
    return Fraction(edge_mm) / MM_PER_METRE * layers


@dataclass(frozen=True)
class TimedHem:
    """One hem: its size (see ``hem_size``) and the minutes it took."""

    size: Fraction
    minutes: Fraction


@dataclass(frozen=True)
class Guess:
    """Minutes, and how many more or fewer it is in four of five cases. All whole.

    ``beyond`` says that the size lies outside those that were timed.
    """

    minutes: int
    give: int
    hems: int
    beyond: bool

    @property
    def least(self) -> int:
        return max(self.minutes - self.give, 0)

    @property
    def most(self) -> int:
        return self.minutes + self.give


@dataclass(frozen=True)
class SizeLine:
    """minutes = ``start`` + ``slope`` * size, with what its guesses and doubts are made of.

    ``middle`` is the mean size, ``spread`` the sum of squared distances from it, ``variance`` that
    of the residuals with two degrees of freedom taken off. ``error`` and ``median_error`` are the
    mean absolute errors of hems left out, in minutes, by the line and by the median.
    """

    start: Fraction
    slope: Fraction
    middle: Fraction
    spread: Fraction
    variance: Fraction
    hems: int
    smallest: Fraction
    largest: Fraction
    error: Fraction
    median_error: Fraction

    @property
    def believed(self) -> bool:
        """Whether there are hems enough, larger ones take longer, and the median does worse."""
        return self.hems >= FEWEST and self.slope > 0 and self.error < self.median_error

    def guess(self, size: Fraction) -> Guess | None:
        """The minutes of one more hem of this size; None where the line falls to nothing there.

        The interval is that of one new observation: t * s * sqrt(1 + 1/n + (x - mean)^2 / spread)
        (N. R. Draper and H. Smith, Applied Regression Analysis, on predicting from a line).
        """
        minutes = self.start + self.slope * size
        if round_half_up(minutes) <= 0:
            return None
        away = (size - self.middle) ** 2 / self.spread
        variance = self.variance * (1 + Fraction(1, self.hems) + away)
        t = T_80[min(self.hems - 2, len(T_80)) - 1]
        give = t * (Decimal(variance.numerator) / variance.denominator).sqrt()
        beyond = not self.smallest <= size <= self.largest
        return Guess(round_half_up(minutes), round_half_up(give), self.hems, beyond)


def size_line(hems: Sequence[TimedHem]) -> SizeLine | None:
    """The line through these hems, believed or not. O(n log n), exact.

    None where no line can be laid or checked: fewer than three hems, all of one size, or all but
    one of one size, so that the slope would rest on a single hem.
    """
    n = len(hems)
    sizes, minutes = [hem.size for hem in hems], [hem.minutes for hem in hems]
    if n < 3:
        return None
    middle, usual = sum(sizes, Fraction()) / n, sum(minutes, Fraction()) / n
    spread = sum(((size - middle) ** 2 for size in sizes), Fraction())
    if not spread:
        return None
    leverages = [Fraction(1, n) + (size - middle) ** 2 / spread for size in sizes]
    if max(leverages) == 1:
        return None
    slope = sum(((hem.size - middle) * (hem.minutes - usual) for hem in hems), Fraction()) / spread
    start = usual - slope * middle
    residuals = [hem.minutes - start - slope * hem.size for hem in hems]
    left_out = [
        abs(residual / (1 - leverage))
        for residual, leverage in zip(residuals, leverages, strict=True)
    ]
    return SizeLine(
        start=start,
        slope=slope,
        middle=middle,
        spread=spread,
        variance=sum((residual**2 for residual in residuals), Fraction()) / (n - 2),
        hems=n,
        smallest=min(sizes),
        largest=max(sizes),
        error=sum(left_out, Fraction()) / n,
        median_error=_median_error(minutes),
    )


def _median_error(minutes: Sequence[Fraction]) -> Fraction:
    """The mean distance of each value from the median of the others."""
    row = sorted(minutes)
    low, high = (len(row) - 2) // 2, (len(row) - 1) // 2
    errors = []
    for place, value in enumerate(row):
        # What stands at a place once this value is taken out of the row.
        pair = [row[at + (at >= place)] for at in (low, high)]
        errors.append(abs(value - (pair[0] + pair[1]) / 2))
    return sum(errors, Fraction()) / len(row)
