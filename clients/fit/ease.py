"""Ease: how much larger a garment is than the body, as published scales have it."""

from dataclasses import dataclass
from decimal import Decimal

from clients.fit.published import length, table

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
