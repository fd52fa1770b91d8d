"""The owner's own sewing: pictures, cloth, patterns, ideas and makes, the look back, releases."""

from jobs.makes.models.cloth import Cloth, ClothMove, length_field, shrink_field
from jobs.makes.models.ideas import (
    UNTITLED,
    ClothPlan,
    Fate,
    FurtherPattern,
    MadeFor,
    Make,
    MakeState,
    Pile,
    PilePlace,
)
from jobs.makes.models.lookback import Look, Pair
from jobs.makes.models.patterns import MOST_KEY, Need, Pattern, PatternVersion
from jobs.makes.models.pictures import LONGEST_SMALL, Picture, picture_field, small_file_of
from jobs.makes.models.releases import Cost, Erratum, Release, Sale, Stage, Tester
from jobs.makes.models.year import Budget, Gap, Hope, JournalBook, Judgement, Sitting

__all__ = [
    "LONGEST_SMALL",
    "MOST_KEY",
    "UNTITLED",
    "Budget",
    "Cloth",
    "ClothMove",
    "ClothPlan",
    "Cost",
    "Erratum",
    "Fate",
    "FurtherPattern",
    "Gap",
    "Hope",
    "JournalBook",
    "Judgement",
    "Look",
    "MadeFor",
    "Make",
    "MakeState",
    "Need",
    "Pair",
    "Pattern",
    "PatternVersion",
    "Picture",
    "Pile",
    "PilePlace",
    "Release",
    "Sale",
    "Sitting",
    "Stage",
    "Tester",
    "length_field",
    "picture_field",
    "shrink_field",
    "small_file_of",
]
