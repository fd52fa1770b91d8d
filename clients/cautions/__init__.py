"""Cautions at the counter: facts of published rules, worded as cautions, never as a block.

Plain Python without a database. Each caution names its source and how well that is known.
"""

from clients.cautions.garments import (
    SAFETY,
    Caution,
    TaxPlace,
    cautions_for,
    eu_cord,
    infant_exempt,
    us_cord,
    us_size,
)
from clients.cautions.pressing import Press, press_limit

__all__ = [
    "SAFETY",
    "Caution",
    "Press",
    "TaxPlace",
    "cautions_for",
    "eu_cord",
    "infant_exempt",
    "press_limit",
    "us_cord",
    "us_size",
]
