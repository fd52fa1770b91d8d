"""The owner's own sewing: cloth, patterns, ideas and makes, releases, and the look back."""

from jobs.makes.models.cloth import Cloth, ClothMove
from jobs.makes.models.looking import Look, Pair
from jobs.makes.models.make import ClothPlan, Fate, Make, State
from jobs.makes.models.pattern import Need, Pattern
from jobs.makes.models.picture import Picture
from jobs.makes.models.release import Cost, Erratum, Release, Sale, Stage, Tester

__all__ = [
    "Cloth",
    "ClothMove",
    "ClothPlan",
    "Cost",
    "Erratum",
    "Fate",
    "Look",
    "Make",
    "Need",
    "Pair",
    "Pattern",
    "Picture",
    "Release",
    "Sale",
    "Stage",
    "State",
    "Tester",
]
