"""Lengths of a sum as the studio reads them."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit.lengths import Mm, Unit, show_length, to_mm
from studio.shop.money import exact

FINEST = {"cm": Fraction(1), "in": Fraction(254, 160)}  # mm: a millimetre, a sixteenth of an inch


def millimetres(value: Mm) -> Decimal:
    """``value`` mm as the database keeps it, with four decimals."""
    return to_mm(exact(value), "mm")


@dataclass(frozen=True)
class Show:
    """``show(45)`` is ``4.5 cm``; ``down`` and ``up`` never promise more or ask for less."""

    unit: Unit

    def __call__(self, value: Mm) -> str:
        return f"{show_length(millimetres(value), self.unit)} {self.unit}"

    def down(self, value: Mm) -> str:
        return self(exact(value) // FINEST[self.unit] * FINEST[self.unit])

    def up(self, value: Mm) -> str:
        return self(-(-exact(value) // FINEST[self.unit]) * FINEST[self.unit])
