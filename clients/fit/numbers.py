"""The numbers that sums take: millimetres without rounding."""

from decimal import Decimal
from fractions import Fraction

Mm = Decimal | Fraction | int
