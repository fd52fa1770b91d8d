"""Measures of a garment laid flat, and of a window for its curtains (``data/pieces.csv``).

Beside those of a piece that fits they say what is to be done: laid flat a width is half of the way
round, so that twice a difference is what is taken in or let out in total.
"""

from dataclasses import dataclass
from decimal import Decimal

from clients.fit.handbook import length, table
from clients.fit.measures import SIDES, Range


@dataclass(frozen=True)
class PieceMeasure:
    """``place`` is where the work lies that changes it; ``half``: half of the way round."""

    key: str
    name: str
    drawings: tuple[str, ...]
    half: bool
    place: str
    sided: bool
    range: Range
    how: str

    @property
    def fields(self) -> dict[str, str]:
        """The names of its fields, with what they are called."""
        sides = {f"{self.key}_{side}": f"{self.name}, {side}" for side in SIDES if self.sided}
        return {self.key: self.name, **sides}


def _piece(row: dict[str, str]) -> PieceMeasure:
    low, high = length(row["low"]), length(row["high"])
    if low is None or high is None:
        raise ValueError(f"{row['key']} has no range.")
    return PieceMeasure(
        row["key"], row["name"], tuple(row["drawings"].split()), row["half"] == "yes",
        row["place"], row["sides"] == "yes", Range(low, high), row["how"],
    )  # fmt: skip


# Of a window, not of its curtains: nothing there is compared with another.
WINDOW = frozenset({"rail_width", "returns", "overlap"})
PIECES = {row["key"]: _piece(row) for row in table("pieces")}


def pieces_of(drawing: str) -> list[PieceMeasure]:
    """The measures that a garment has; of one that nobody knows, those of any."""
    own = [piece for piece in PIECES.values() if drawing in piece.drawings]
    return own or [piece for piece in PIECES.values() if "curtains" not in piece.drawings]


@dataclass(frozen=True)
class Change:
    """What makes a piece as one that fits: ``by`` mm in all, longer or wider where ``more``."""

    piece: PieceMeasure
    by: Decimal
    more: bool


def change_of(piece: PieceMeasure, here: Decimal, fits: Decimal) -> Change | None:
    """From two lengths in mm; None where they are alike."""
    if here == fits:
        return None
    return Change(piece, abs(here - fits) * (2 if piece.half else 1), fits > here)
