"""Cautions at the counter: facts of published rules, worded as cautions, never as a block.

Plain Python without a database. Each caution names its source and how well that is known.
"""

from jobs.pricing.cautions.caution import Caution
from jobs.pricing.cautions.choosing import SAFETY, cautions_for
from jobs.pricing.cautions.cords import eu_cord, us_cord, us_size
from jobs.pricing.cautions.night import infant_exempt
from jobs.pricing.cautions.pressing import Press, press_limit
from jobs.pricing.cautions.tax import TaxPlace

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
