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

from clients.fit.regression import StraightLine, least_squares, total
from studio.shop.money import round_half_up

FEWEST = 8
"""Timed hems below which nothing is said."""
MM_PER_METRE = 1000
COVERAGE = Decimal("0.8")  # four times out of five


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
    """The straight ``line`` of minutes by size, and how far it may be trusted.

    ``error`` and ``median_error`` are the mean absolute errors of hems left out, in minutes, by the
    line and by the median.
    """

    line: StraightLine
    smallest: Fraction
    largest: Fraction
    error: Fraction
    median_error: Fraction

    @property
    def hems(self) -> int:
        return self.line.count

    @property
    def believed(self) -> bool:
        """Whether there are hems enough, larger ones take longer, and the median does worse."""
        return self.hems >= FEWEST and self.line.slope > 0 and self.error < self.median_error

    def guess(self, size: Fraction) -> Guess | None:
        """The minutes of one more hem of this size; None where the line falls to nothing there."""
        minutes = round_half_up(self.line.at(size))
        if minutes <= 0:
            return None
        beyond = not self.smallest <= size <= self.largest
        return Guess(minutes, round_half_up(self.line.half(size, COVERAGE)), self.hems, beyond)


def size_line(hems: Sequence[TimedHem]) -> SizeLine | None:
    """The line through these hems, believed or not. O(n log n), exact.

    None where no line can be laid or checked: fewer than three hems, all of one size, or all but
    one of one size, so that the slope would rest on a single hem.
    """
    line = least_squares([(hem.size, hem.minutes) for hem in hems])
    if line is None:
        return None
    sizes = [hem.size for hem in hems]
    leverages = [line.leverage(size) for size in sizes]
    if max(leverages) == 1:
        return None
    left_out = total(
        abs((hem.minutes - line.at(hem.size)) / (1 - leverage))
        for hem, leverage in zip(hems, leverages, strict=True)
    )
    return SizeLine(
        line=line,
        smallest=min(sizes),
        largest=max(sizes),
        error=left_out / line.count,
        median_error=_median_error([hem.minutes for hem in hems]),
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
