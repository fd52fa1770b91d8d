"""A straight line by least squares, in exact fractions, and how far one new value may lie from it.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, sections 4.1.4.1 (linear least squares) and
4.5.1.2 (prediction of a new value).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import cos, pi, sin, sqrt, tan

FEWEST = 3  # points; through two every line fits


@dataclass(frozen=True)
class StraightLine:
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

        t(n-2) s √(1 + 1/n + (x - x̄)²/Sxx), to ten digits.
        """
        variance = self.variance * (1 + self.leverage(x))
        share = (1 + float(coverage)) / 2
        return Fraction(t_quantile(share, self.count - 2) * sqrt(variance))


def least_squares(points: Sequence[tuple[Fraction, Fraction]]) -> StraightLine | None:
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
    return StraightLine(count, middle, mean, slope, spread, variance)


def total(parts: Iterable[Fraction]) -> Fraction:
    return sum(parts, Fraction(0))


HALVINGS = 60  # of a right angle: 2 ** -60 is below the last digit of a float


@lru_cache(maxsize=256)
def t_quantile(p: float, freedom: int) -> float:
    """The value below which Student's t with ``freedom`` degrees stays with probability ``p``.

    ``p`` lies between one half and 1, ``freedom`` is at least 1; good to ten digits. Bisection in
    the angle whose tangent is t / √freedom, of which the distribution is a finite sum. O(freedom).
    """
    if not (0.5 <= p < 1 and freedom >= 1):
        raise ValueError("A quantile is asked for p from 0.5 to below 1 and one degree or more.")
    low, high = 0.0, pi / 2
    for _ in range(HALVINGS):
        angle = (low + high) / 2
        low, high = (angle, high) if _between(angle, freedom) < 2 * p - 1 else (low, angle)
    return sqrt(freedom) * tan(low)


def _between(angle: float, freedom: int) -> float:
    """The probability of |t| below that of this angle.

    Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4.
    """
    odd = freedom % 2
    term, terms = (cos(angle) if odd else 1.0), 0.0
    for step in range(2 + odd, freedom + 1, 2):
        terms += term
        term *= cos(angle) ** 2 * (step - 1) / step
    return (angle + sin(angle) * terms) * 2 / pi if odd else sin(angle) * terms
