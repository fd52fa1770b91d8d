"""A straight line by least squares, in exact fractions, and how far one new value may lie from it.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, sections 4.1.4.1 (linear least squares) and
4.5.1.2 (prediction of a new value).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit.quantiles import PLACES, t_quantile
from studio.shop.money import exact

FEWEST = 3  # points; through two every line fits


@dataclass(frozen=True)
class Line:
    """Through (``middle``, ``mean``) with ``slope``.

    ``spread`` is the sum of squared distances from the middle, ``variance`` that of the residuals
    with two degrees of freedom taken off.
    """

    count: int
    middle: Fraction
    mean: Fraction
    slope: Fraction
    spread: Fraction
    variance: Fraction

    def at(self, x: Fraction) -> Fraction:
        return self.mean + self.slope * (x - self.middle)

    def leverage(self, x: Fraction) -> Fraction:
        """How much a value at ``x`` pulls the line: 1/n + (x - x̄)²/Sxx."""
        return Fraction(1, self.count) + (x - self.middle) ** 2 / self.spread

    def half(self, x: Fraction, coverage: Decimal) -> Fraction:
        """Half the interval into which one new value at ``x`` falls with that probability.

        t(n-2) s √(1 + 1/n + (x - x̄)²/Sxx), to thirty digits.
        """
        variance = self.variance * (1 + self.leverage(x))
        root = PLACES.divide(Decimal(variance.numerator), Decimal(variance.denominator)).sqrt(
            PLACES
        )
        return exact(t_quantile((1 + coverage) / 2, self.count - 2)) * exact(root)


def least_squares(points: Sequence[tuple[Fraction, Fraction]]) -> Line | None:
    """The line through ``points`` (x, y); None with two or fewer, or where all x are one. O(n)."""
    count = len(points)
    if count < FEWEST:
        return None
    middle, mean = total(x for x, _ in points) / count, total(y for _, y in points) / count
    apart = [(x - middle, y - mean) for x, y in points]
    spread = total(x * x for x, _ in apart)
    if not spread:
        return None
    slope = total(x * y for x, y in apart) / spread
    variance = total((y - slope * x) ** 2 for x, y in apart) / (count - 2)
    return Line(count, middle, mean, slope, spread, variance)


def total(parts: Iterable[Fraction]) -> Fraction:
    return sum(parts, Fraction(0))
