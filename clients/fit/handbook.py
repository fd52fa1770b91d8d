"""What standards, handbooks and the trade have published: tables in ``data/``, each row with its
source.

``label`` says how far a row can be trusted: ``seen`` at the source named, ``seen (2nd)`` on a page
that is not the issuing body, ``derived`` from such a row, ``common practice`` of the trade. Here
are ease, how much larger a garment is than the body, and when to stop and look: the limits by place
(``data/limits.csv``) and what cloth shows by its kind (``data/cloth_marks.csv``). These advise and
refuse nothing; where sources disagree every one of them speaks.
"""

import csv
import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

from clients.fit.lengths import Unit, parse_length, show_length

DATA = Path(__file__).parent / "data"


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """The rows of ``data/<name>.csv`` by column, in their order. Lines with ``#`` are remarks."""
    lines = (DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return tuple(csv.DictReader(line for line in lines if not line.startswith("#")))


def length(text: str) -> Decimal | None:
    """A length of a table, which names its own unit, in mm; None where none is given."""
    return parse_length(text, "mm").mm if text else None


ANY = "any"


@dataclass(frozen=True)
class Ease:
    """What one scale gives, in mm of the whole girth; either bound may be missing.

    ``case`` is what the row holds for, such as fitted or men's; empty where nothing is said.
    """

    garment: str
    place: str
    case: str
    low: Decimal | None
    high: Decimal | None
    source: str
    label: str


def ease(garment: str, place: str) -> tuple[Ease, ...]:
    """Every published row for the garment at ``place``, the key of a measure.

    Rows of the garment itself come first, then those of every garment. Scales disagree: none is
    chosen here. Empty where nothing is published.
    """
    rows = [
        Ease(
            row["garment"], row["place"], row["case"], length(row["low"]), length(row["high"]),
            row["source"], row["label"],
        )
        for row in table("ease")
        if row["garment"] in {garment, ANY} and row["place"] == place
    ]  # fmt: skip
    return tuple(sorted(rows, key=lambda row: row.garment == ANY))


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
class Advice:
    """A sentence without its full stop, where it was published, and how far that was checked.

    Lengths in it stand in braces, as published: ``{3 in}``.
    """

    says: str
    source: str = ""
    label: str = "common practice"

    def words(self, unit: Unit) -> str:
        """The sentence with its lengths in ``unit``; one published in it stays as it was."""
        return LENGTHS.sub(lambda length: _in_unit(length[1], unit), self.says)


def _in_unit(text: str, unit: Unit) -> str:
    read = parse_length(text, unit)
    return text if read.unit == unit else f"{show_length(read.mm, unit)} {unit}"


def passed(*places: str, way: str, total: Decimal) -> tuple[Advice, ...]:
    """The cautions of ``places`` for a change of ``total`` mm that goes beyond their limits.

    ``way`` is in, out, shorten or lengthen. A row without a limit always speaks.
    """
    return tuple(
        Advice(row["says"], row["source"], row["label"])
        for row in table("limits")
        if row["place"] in places and way in row["way"].split()
        if (limit := length(row["beyond"])) is None or total > limit
    )


def cloth_marks(cloth: str, way: str) -> tuple[Advice, ...]:
    """What ``cloth`` (a kind as the garment keeps it) shows after going ``out`` or ``in``."""
    return tuple(
        Advice(row["says"], row["source"], row["label"])
        for row in table("cloth_marks")
        if (row["cloth"], row["way"]) == (cloth, way)
    )
