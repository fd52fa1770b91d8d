"""Curtains for a rail: how wide and how long to cut them. All lengths are mm, exact.

Rail times fullness, hems and heading on top, cut at whole repeats: pages on making curtains, seen
(2nd). That a pair is sewn of half widths is common practice.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit import FitError
from clients.fit.handbook import length, table
from clients.fit.lengths import Mm
from studio.shop.money import exact

SIDE = Decimal("50.8")  # 2 in, for a hem turned twice: a page on making curtains, seen (2nd)
HEM = Decimal("177.8")  # 7 in, the middle of 6 to 8, both folds: common practice
MOST = 60  # widths


@dataclass(frozen=True)
class Heading:
    """How many times as full it is drawn up, and the ``top`` that is turned over for it."""

    key: str
    name: str
    least: Fraction
    most: Fraction
    top: Fraction
    source: str
    label: str

    @property
    def usual(self) -> Fraction:
        return (self.least + self.most) / 2


HEADINGS = {
    row["key"]: Heading(
        row["key"], row["name"], Fraction(row["least"]), Fraction(row["most"]),
        exact(length(row["top"]) or 0), row["source"], row["label"],
    )
    for row in table("headings")
}  # fmt: skip


@dataclass(frozen=True)
class CurtainWindow:
    """What is hung: the ``rail``, end to end, and the ``drop`` from there.

    Each end goes on by ``returns`` to the wall; the two of a pair ``overlap`` in the middle.
    """

    rail: Fraction
    drop: Fraction
    pair: bool = True
    returns: Fraction = Fraction(0)
    overlap: Fraction = Fraction(0)

    @property
    def each(self) -> Fraction:
        """How wide one curtain is, drawn up."""
        whole = self.rail + 2 * self.returns
        return (whole + self.overlap) / 2 if self.pair else whole


@dataclass(frozen=True)
class Curtains:
    """``widths`` are cut for all of them, each ``cut`` long; of a pair either has half of them.

    ``flat`` is how wide one lies, hemmed at its sides; ``waste`` is cut off each width so that
    the pattern meets.
    """

    window: CurtainWindow
    widths: int
    cut: Fraction
    waste: Fraction
    flat: Fraction

    @property
    def fullness(self) -> Fraction:
        """As it comes out, with whole widths."""
        return self.flat / self.window.each

    @property
    def cloth(self) -> Fraction:
        return self.widths * self.cut


def curtains(
    window: CurtainWindow, bolt: Mm, fullness: Fraction | Decimal, *, top: Mm, hem: Mm = HEM,
    side: Mm = SIDE, seam: Mm = 0, repeat: Mm = 0,
) -> Curtains:  # fmt: skip
    """The fewest widths of the ``bolt`` that are at least so full.

    ``seam`` is the allowance where two are joined. Raises FitError where they would be too many.
    """
    wanted, wide = window.each * exact(fullness), exact(bolt)
    count = next((n for n in range(1, MOST + 1) if _flat(n, wide, side, seam, window) >= wanted), 0)
    if not count:
        raise FitError("This takes more than sixty widths of the cloth.")
    length = window.drop + exact(top) + exact(hem)
    every = exact(repeat)
    cut = -(-length // every) * every if every else length
    flat = _flat(count, wide, side, seam, window)
    return Curtains(window, count, cut, cut - length, flat)


def _flat(widths: int, bolt: Fraction, side: Mm, seam: Mm, window: CurtainWindow) -> Fraction:
    """One curtain of ``widths`` whole ones; of a pair either gets half of them."""
    each = Fraction(widths, 2 if window.pair else 1)
    joins = -(-each.numerator // each.denominator) - 1
    return each * bolt - 2 * joins * exact(seam) - 2 * exact(side)
