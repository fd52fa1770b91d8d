"""What is read off measures: size by the bust, bra size, drop, and which bust to choose by."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit.lengths import to_mm
from clients.fit.published import table
from studio.shop.money import round_half_up

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
