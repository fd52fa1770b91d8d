"""The measures of a body: what each is, where it is taken, and when a value is worth a question.

The list is data (``data/measures.csv``, the places on the drawn figure ``data/figure.csv``): worded
here, with the source of each definition beside it. No range refuses anything.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from clients.fit.handbook import length, table
from clients.fit.lengths import to_mm
from studio.shop.money import round_half_up

Side = Literal["", "left", "right"]
Spot = tuple[str, str]  # the key of a measure, and its side: empty where both are alike
Values = Mapping[Spot, Decimal]  # millimetres
SIDES: tuple[Side, ...] = ("left", "right")


@dataclass(frozen=True)
class Range:
    """From ``low`` to ``high`` in mm, both included, nothing has to be asked."""

    low: Decimal
    high: Decimal

    def __contains__(self, mm: Decimal) -> bool:
        return self.low <= mm <= self.high


@dataclass(frozen=True)
class BodyMeasure:
    """One measure. ``number`` is its place in the list and on the figure, from 1.

    ``at`` is the measure of the list whose place on the figure it has; empty where it has none.
    ``own`` is one of the owner's, beside the list; ``retired`` one that new sheets no longer ask.
    """

    number: int
    key: str
    name: str
    kind: str
    sided: bool
    usual: bool
    sets: tuple[str, ...]
    range: Range
    definition: str
    landmark: str
    how: str
    source: str
    label: str
    at: str = ""
    own: bool = False
    retired: bool = False


Measures = Mapping[str, BodyMeasure]


@dataclass(frozen=True)
class FigurePlace:
    """The way of the tape on the figure, and the thin line to the number, as SVG path data."""

    measure: BodyMeasure
    line: str
    lead: str
    x: str
    y: str


def _measure(number: int, row: dict[str, str]) -> BodyMeasure:
    low, high = length(row["low"]), length(row["high"])
    if low is None or high is None:
        raise ValueError(f"{row['key']} has no range.")
    return BodyMeasure(
        number=number, key=row["key"], name=row["name"], kind=row["kind"],
        sided=row["sides"] == "yes", usual=row["usual"] == "yes", sets=tuple(row["sets"].split()),
        range=Range(low, high), definition=row["definition"], landmark=row["landmark"],
        how=row["how"], source=row["source"], label=row["label"], at=row["key"],
    )  # fmt: skip


MEASURES = {
    row["key"]: _measure(number, row) for number, row in enumerate(table("measures"), start=1)
}
# Measures that begin or end at the waist: they compare only where it was taken at the same level.
AT_WAIST = frozenset({
    "waist", "front_waist", "back_waist", "waist_to_hip", "crotch_depth", "crotch_length",
    "outseam", "waist_floor_front", "waist_floor_back", "front_rise", "back_rise",
})  # fmt: skip


# The jobs with measures of their own, as they are called where one chooses.
SETS = {
    "trousers": "Trousers", "jacket": "Jacket", "gown": "Gown", "event": "Hem in its shoes",
    "jumpsuit": "Jumpsuit", "child": "A child",
}  # fmt: skip


# The range of a measure of which nobody has said what is usual: nothing in it is asked about.
ANY = Range(Decimal(0), Decimal(10_000))


def stray(key: str) -> BodyMeasure:
    """What stands for a measure that a sheet has and no list knows: it is shown by its key."""
    return BodyMeasure(
        number=0, key=key, name=key, kind="length", sided=True, usual=False, sets=(), range=ANY,
        definition="", landmark="", how="", source="", label="", own=True, retired=True,
    )  # fmt: skip


def spots(measures: Measures) -> tuple[Spot, ...]:
    """Every place of a sheet in its order: each measure, then its left and its right side."""
    return tuple(
        (key, side)
        for key, measure in measures.items()
        for side in ("", *(SIDES if measure.sided else ()))
    )


def spot_name(spot: Spot, measures: Measures) -> str:
    """``Thigh, left``."""
    key, side = spot
    return f"{measures[key].name}, {side}" if side else measures[key].name


def larger(values: Values, key: str) -> Decimal | None:
    """The measure in mm, the larger of its sides; None where it was not taken."""
    taken = [values[key, side] for side in ("", *SIDES) if (key, side) in values]
    return max(taken, default=None)


def places(view: str) -> tuple[FigurePlace, ...]:
    """What is drawn on the figure seen from ``view``, front or back."""
    return tuple(
        FigurePlace(
            MEASURES[row["key"]],
            row["line"],
            f"M {row['from']} L {row['at']}",
            *row["at"].split(),
        )
        for row in table("figure")
        if row["view"] == view
    )


BAND_MM = 50
# Texas extension service, "Principles of Pattern Alteration": 2 in (5 cm) or more.
BY_HIGH_BUST_MM = 50
# US Army TM 10-227, page 1-1: a drop of 4 to 7 in is the normal one.
USUAL_DROP = (to_mm(Fraction(4), "in"), to_mm(Fraction(7), "in"))


@dataclass(frozen=True)
class Drop:
    """Chest less waist in mm; ``usual`` where it is that of a ready-made suit."""

    mm: Decimal
    usual: bool


def bust_size(bust: Decimal) -> int | None:
    """The women's size of EN 13402-3 for a bust in mm; None outside its twelve intervals.

    A limit belongs to the interval above it, the last one to the interval below.
    """
    rows = table("bust_intervals")
    if bust == 10 * int(rows[-1]["high"]):
        return int(rows[-1]["size"])
    for row in rows:
        if 10 * int(row["low"]) <= bust < 10 * int(row["high"]):
            return int(row["size"])
    return None


def bra_size(underbust: Decimal, bust: Decimal) -> str | None:
    """``85D`` after EN 13402, from two girths in mm; None where no letter is known.

    The band is the under-bust to the nearest 5 cm.
    """
    more = bust - underbust
    for row in table("cups"):
        if 10 * int(row["above"]) < more <= 10 * int(row["upto"]):
            return f"{round_half_up(underbust, BAND_MM) // 10}{row['letter']}"
    return None


def by_high_bust(high_bust: Decimal, bust: Decimal) -> bool:
    """Whether a pattern is better chosen by the high bust (mm) than by the bust."""
    return bust - high_bust >= BY_HIGH_BUST_MM


def drop(chest: Decimal, waist: Decimal) -> Drop:
    mm = chest - waist
    return Drop(mm, USUAL_DROP[0] <= mm <= USUAL_DROP[1])
