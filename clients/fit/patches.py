"""Patching a hole or a rip: the rule of US Army TM 10-8400-201-23. Lengths are mm."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit.numbers import Mm
from studio.shop.money import exact

BEYOND = Decimal("19.05")  # 3/4 in past the hole on every side, and the least distance to a seam


@dataclass(frozen=True)
class Patch:
    """The size to cut. ``fusible`` is allowed where the hole is 3/4 in or more from a seam."""

    width: Fraction
    height: Fraction
    fusible: bool


def patch(width: Mm, height: Mm, *, to_seam: Mm) -> Patch:
    """A patch for a hole ``width`` by ``height`` that lies ``to_seam`` from the nearest seam."""
    around = 2 * exact(BEYOND)
    near = exact(to_seam) < exact(BEYOND)
    return Patch(exact(width) + around, exact(height) + around, not near)
