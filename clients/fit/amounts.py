"""How far work on a garment can be believed to go: a question is asked beyond, nothing is refused.

The ranges of the table ``amounts`` are common practice, and wide. Against a body that was measured
a length cannot lose more than is there, and a girth not half of itself (common practice).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from clients.fit.handbook import length, table
from clients.fit.lengths import MM, Length, Mm, Unit, parse_length, show_length, to_mm
from studio.shop.money import exact

GIRTHS = frozenset({"waist", "sides", "bodice", "darts"})
"""Where work goes round the body; elsewhere it goes along it."""
LONGER = {"gown": 2500}
BELOW = 150
"""How far below the longest measure a finished edge may lie: heel, break, and a gown's train."""
TAPES: tuple[Unit, ...] = ("cm", "in", "mm")


@dataclass(frozen=True)
class Bounds:
    """What can be believed, in mm. ``by_body`` says that the body is what it goes against."""

    least: Fraction
    most: Fraction
    by_body: bool = False

    def __contains__(self, mm: Mm) -> bool:
        return self.least <= exact(mm) <= self.most


def believable(
    drawing: str, place: str, measure: str, *, body: Sequence[Mm] = (), twice: bool = False
) -> Bounds | None:
    """How far work at ``place`` goes on a garment of that drawing; None where nobody can say.

    ``measure`` is take_off, let_out or finished, ``body`` what was measured of the body there, and
    ``twice`` that the amount is of one of two sides of a girth.
    """
    row = next(
        (
            row
            for row in table("amounts")
            if place in row["place"].split()
            and drawing in row["garments"].split()
            and row["measure"] == measure
        ),
        None,
    )
    if row is None:
        return None
    least, most = (exact(length(row[name]) or 0) for name in ("least", "most"))
    against = [exact(mm) for mm in body]
    of_body = False
    if against and measure != "let_out":
        low, high = _against(place, drawing, measure, against)
        of_body, least, most = high < most or low > least, max(least, low), min(most, high)
    if twice and place in GIRTHS and measure != "finished":
        most /= 2
    return Bounds(least, most, of_body)


def _against(
    place: str, drawing: str, measure: str, body: Sequence[Fraction]
) -> tuple[Fraction, Fraction]:
    if place in GIRTHS:
        if measure == "finished":
            return min(body) * Fraction(3, 5), max(body) * Fraction(8, 5)
        return Fraction(0), min(body) / 2
    if measure == "finished":
        return Fraction(0), max(body) + LONGER.get(drawing, BELOW)
    return Fraction(0), min(body)


def meant_instead(typed: Length, bounds: Bounds) -> list[str]:
    """What was probably meant: the point that slipped, or the other tape. Nearest first."""
    amount = Fraction(typed.mm) / MM[typed.unit]
    shifted = [amount * Fraction(10) ** power for power in (-2, -1, 1, 2)]
    guesses = [(mm, typed.unit) for mm in (to_mm(guess, typed.unit) for guess in shifted)]
    if not any(mm in bounds for mm, _ in guesses):
        others = [unit for unit in TAPES if unit != typed.unit]
        guesses = [(to_mm(amount, unit), unit) for unit in others]
    found = []
    for mm, unit in guesses:
        shown = f"{show_length(mm, unit)} {unit}"
        if mm in bounds and parse_length(shown, unit).mm == mm:
            found.append(shown)
    return found
