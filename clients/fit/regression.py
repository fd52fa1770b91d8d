"""A straight line by least squares, in exact fractions, and how far one new value may lie from it.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, sections 4.1.4.1 (linear least squares) and
4.5.1.2 (prediction of a new value).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from fractions import Fraction
from functools import lru_cache

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


PLACES = Context(prec=30)
HALVINGS = 90  # of an interval: 2 ** -90 is below the last of thirty digits


@lru_cache(maxsize=256)
def t_quantile(p: Decimal, freedom: int) -> Decimal:
    """The value below which Student's t with ``freedom`` degrees stays with probability ``p``.

    ``p`` lies between one half and 1, ``freedom`` is at least 1. Bisection in the sine of the
    angle, of which the distribution is a finite sum. O(freedom).
    """
    if not (Decimal("0.5") <= p < 1 and freedom >= 1):
        raise ValueError("A quantile is asked for p from 0.5 to below 1 and one degree or more.")
    with localcontext(PLACES):
        low, high = Decimal(0), Decimal(1)
        for _ in range(HALVINGS):
            sine = (low + high) / 2
            low, high = (sine, high) if _between(sine, freedom) < 2 * p - 1 else (low, sine)
        return low * (freedom / (1 - low * low)).sqrt()


def _between(sine: Decimal, freedom: int) -> Decimal:
    """The probability of |t| below the one whose angle has this sine.

    Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4.
    """
    square = 1 - sine * sine
    cosine = square.sqrt()
    odd = freedom % 2
    term = cosine if odd else Decimal(1)
    total = Decimal(0)
    for step in range(2 + odd, freedom + 1, 2):
        total += term
        term *= square * (step - 1) / step
    if not odd:
        return sine * total
    return (_arctan(sine / cosine) + sine * total) * 2 / (4 * _arctan(Decimal(1)))


def _arctan(x: Decimal) -> Decimal:
    """By the half-angle three times, then the power series."""
    for _ in range(3):
        x /= 1 + (1 + x * x).sqrt()
    total, power, odd = Decimal(0), x, 1
    while abs(power) > Decimal("1e-32"):
        total += power / odd
        power, odd = -power * x * x, odd + 2
    return 8 * total
