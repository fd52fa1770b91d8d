"""When to stop and look: published limits by place, and what cloth shows by its kind.

These are cautions, not refusals: the figures are data with their sources (``data/limits.csv``,
``data/cloth_marks.csv``), and where sources disagree every one of them speaks.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from clients.fit.lengths import Unit, parse_length, show_length
from clients.fit.published import length, table

LENGTHS = re.compile(r"\{(.+?)\}")

PLACES = {
    "other": "Elsewhere",
    "trousers_waist": "Waist of men's trousers",
    "womens_trousers": "Waist of women's trousers",
    "trousers_seat": "Seat, thigh or leg",
    "rise": "Rise",
    "jacket_waist": "Waist of a jacket",
    "jacket_body": "Body of a jacket",
    "jacket_shoulder": "Shoulder of a jacket",
}


@dataclass(frozen=True)
class Caution:
    """A sentence without its full stop, where it was published, and how far that was checked.

    Lengths in it stand in braces, as published: ``{3 in}``.
    """

    says: str
    source: str = ""
    label: str = "common practice"

    def words(self, unit: Unit) -> str:
        """The sentence with its lengths in ``unit``; one published in it stays as it was."""
        return LENGTHS.sub(lambda found: _in_unit(found[1], unit), self.says)


def _in_unit(text: str, unit: Unit) -> str:
    read = parse_length(text, unit)
    return text if read.unit == unit else f"{show_length(read.mm, unit)} {unit}"


def passed(*places: str, way: str, total: Decimal) -> tuple[Caution, ...]:
    """The cautions of ``places`` for a change of ``total`` mm that goes beyond their limits.

    ``way`` is in, out, shorten or lengthen. A row without a limit always speaks.
    """
    return tuple(
        Caution(row["says"], row["source"], row["label"])
        for row in table("limits")
        if row["place"] in places and way in row["way"].split()
        if (limit := length(row["beyond"])) is None or total > limit
    )


def cloth_marks(cloth: str, way: str) -> tuple[Caution, ...]:
    """What ``cloth`` (a kind as the garment keeps it) shows after going ``out`` or ``in``."""
    return tuple(
        Caution(row["says"], row["source"], row["label"])
        for row in table("cloth_marks")
        if (row["cloth"], row["way"]) == (cloth, way)
    )
