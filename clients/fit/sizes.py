"""Which size of a pattern is nearest to a body, and by how much the body differs from it.

A pattern for the upper body is chosen by the bust, or by the high bust where the bust is at least
5 cm (2 in) more (Texas extension service, "Principles of Pattern Alteration"); one for the lower
body by the hip (common practice). Lengths are millimetres.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from clients.fit.changes import TAPE_MM
from clients.fit.lengths import LengthError, Unit, parse_length
from clients.fit.measures import by_high_bust

GIRTHS = ("bust", "waist", "hip")
HIGH_BUST = "high_bust"
GIRTH = re.compile(r"\d+(?:[.,]\d+|(?: |-)\d+/\d+|[¼½¾⅛⅜⅝⅞])?(?: ?(?:cm|mm|in\b|\"))?")
UPPER, LOWER = GIRTHS, ("hip", "waist")


@dataclass(frozen=True)
class BodySize:
    """A size of a pattern and the girths of the body that it is drafted for."""

    name: str
    girths: Mapping[str, Decimal]


@dataclass(frozen=True)
class NearestSize:
    """``by`` is the measure it was chosen by, ``more`` how much the body has more of each girth
    that the garment goes round.

    What differs by no more than the tape does between two takings is left out.
    """

    name: str
    by: str
    more: Mapping[str, Decimal]


def nearest_size(
    body: Mapping[str, Decimal], sizes: Sequence[BodySize], first: Sequence[str] = UPPER
) -> NearestSize | None:
    """The size nearest by the first of ``first`` that is known of both; of two as near the larger,
    for it can be taken in (common practice). None where nothing can be compared. O(sizes).
    """
    for girth in first:
        known = [size for size in sizes if girth in size.girths]
        if girth not in body or not known:
            continue
        by = girth
        if girth == "bust" and HIGH_BUST in body and by_high_bust(body[HIGH_BUST], body[girth]):
            by = HIGH_BUST
        wanted = body[by]
        best = min(known, key=lambda s: (abs(s.girths[girth] - wanted), -s.girths[girth]))
        more = {
            key: body[key] - best.girths[key]
            for key in GIRTHS
            if key in first and key in body and key in best.girths
        }
        told = {key: apart for key, apart in more.items() if abs(apart) > TAPE_MM}
        return NearestSize(best.name, by, told)
    return None


def read_girths(text: str, unit: Unit) -> list[str]:
    """The girths of a row of the envelope, each with its unit: ``80 84,5, 32 1/2 in``.

    Raises LengthError.
    """
    if left := GIRTH.sub("", text).strip(" ,;"):
        raise LengthError(f"“{left[:20]}” is no length: write them as 80 84 88 or 31 1/2, 33.")
    lengths = [parse_length(found.group(), unit) for found in GIRTH.finditer(text)]
    if any(before.mm > after.mm for before, after in pairwise(lengths)):
        raise LengthError("Write them from the smallest to the largest.")
    return [length.with_unit for length in lengths]


def sizes_of_rows(rows: Iterable[Mapping[str, str]]) -> list[BodySize]:
    """From texts as a pattern holds them, ``{"size": "38", "bust": "88 cm"}``."""
    return [
        BodySize(
            row["size"],
            {key: parse_length(row[key], "cm").mm for key in GIRTHS if row.get(key)},
        )
        for row in rows
    ]
