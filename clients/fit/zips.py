"""How long an opening has to be, and the zip for it. All lengths are mm, exact.

The lengths that are sold are common practice.
"""

from dataclasses import dataclass
from fractions import Fraction

from clients.fit import FitError
from clients.fit.lengths import Mm, Unit, parse_length
from studio.shop.money import exact

SOLD: dict[Unit, str] = {
    "cm": "10 12 15 18 20 22 25 30 35 40 45 50 55 60 65 70 75 80 85 90 100 120",
    "in": "4 5 6 7 8 9 10 12 14 16 18 20 22 24 26 28 30 32 36 40 48",
}


@dataclass(frozen=True)
class Zip:
    """Its teeth are ``long``; ``sold`` is the next length that there is."""

    long: Fraction
    sold: Fraction

    @property
    def surplus(self) -> Fraction:
        return self.sold - self.long


def opening_for(narrow: Mm, wide: Mm) -> Fraction:
    """How deep a slit in a seam that is ``narrow`` round lets pass what is ``wide`` round.

    Its two edges add twice their length. Nothing where it passes anyway.
    """
    return max(Fraction(0), (exact(wide) - exact(narrow)) / 2)


def zip_for(opening: Mm, unit: Unit, *, above: Mm = 0) -> Zip:
    """The zip of an ``opening`` of which ``above`` stays free at the top, for a hook or a facing.

    Raises FitError where nothing is left, or none is sold so long.
    """
    long = exact(opening) - exact(above)
    if long <= 0:
        raise FitError("Nothing of the opening is left for a zip.")
    lengths = [exact(parse_length(figure, unit).mm) for figure in SOLD[unit].split()]
    sold = next((length for length in lengths if length >= long), None)
    if sold is None:
        raise FitError("No zip is sold so long: order it by the length.")
    return Zip(long, sold)
