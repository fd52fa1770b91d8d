"""Quantiles of Student's t, to thirty digits, without a table."""

from decimal import Context, Decimal, localcontext
from functools import lru_cache

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
