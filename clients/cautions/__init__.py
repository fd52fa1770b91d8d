"""Cautions at the counter: facts of published rules, worded as cautions, never as a block.

Plain Python without a database. Each caution names its source and how well that is known.
"""

from clients.cautions.caution import Caution
from clients.cautions.choosing import SAFETY, cautions_for
from clients.cautions.cords import eu_cord, us_cord, us_size
from clients.cautions.night import infant_exempt
from clients.cautions.pressing import Press, press_limit
from clients.cautions.tax import TaxPlace

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
