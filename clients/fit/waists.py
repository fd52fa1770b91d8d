"""Waistbands and elastic. Lengths are mm and exact."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit.errors import FitError
from clients.fit.numbers import Mm
from studio.shop.money import exact

ELASTIC_SHORTER = Decimal(10)  # per cent shorter than the waist: common practice
ELASTIC_JOIN = Decimal(20)  # mm overlapped where the ends meet: common practice


@dataclass(frozen=True)
class Band:
    """``finished`` round the waist when closed; ``cut`` long with overlap and two allowances."""

    finished: Fraction
    cut: Fraction


def band(waist: Mm, *, ease: Mm, overlap: Mm, allowance: Mm) -> Band:
    finished = exact(waist) + exact(ease)
    return Band(finished, finished + exact(overlap) + 2 * exact(allowance))


def elastic(waist: Mm, *, shorter: Decimal = ELASTIC_SHORTER, join: Mm = ELASTIC_JOIN) -> Fraction:
    """How long to cut elastic that sits ``shorter`` per cent inside the waist, ends overlapped.

    Raises FitError for 50 per cent and more.
    """
    if not 0 <= shorter < 50:
        raise FitError("Elastic is cut up to half shorter, such as 10 %.")
    return exact(waist) * (1 - exact(shorter) / 100) + exact(join)
