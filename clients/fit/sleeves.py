"""A sleeve with a vent or a placket: how far it gets shorter before that is lost. All mm, exact.

What has to stay of either is common practice; where a sleeve narrows is geometry.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit import FitError
from clients.fit.lengths import Mm
from studio.shop.money import exact

ABOVE_BUTTONS = Decimal("19.05")  # 3/4 in of vent above the highest button: common practice
LOWEST = Decimal("19.05")  # 3/4 in from the edge to a buttonhole that is cut: common practice
PLACKET = Decimal("88.9")  # 3 1/2 in, for the hand to pass above a cuff: common practice


@dataclass(frozen=True)
class SleeveOpening:
    """A vent or placket ``high`` above the edge, of which ``least`` has to stay.

    The edge goes up ``by`` so much and the top of the opening stays where it is.
    """

    high: Fraction
    by: Fraction
    least: Fraction

    @property
    def left(self) -> Fraction:
        return max(Fraction(0), self.high - self.by)

    @property
    def most(self) -> Fraction:
        """The most that can be taken off before it is lost."""
        return max(Fraction(0), self.high - self.least)

    @property
    def holds(self) -> bool:
        return self.by <= self.most


def vent(
    high: Mm, by: Mm, *, buttons: int, lowest: Mm, apart: Mm, holes_cut: bool = False
) -> SleeveOpening:
    """Buttons move up with the edge; where their holes are cut they stay and the edge comes near.

    Raises FitError where the buttons lie above the vent.
    """
    row = exact(lowest) + max(0, buttons - 1) * exact(apart) if buttons else Fraction(0)
    if row > exact(high):
        raise FitError("The highest button lies above the opening.")
    least = row + exact(ABOVE_BUTTONS) if buttons else exact(ABOVE_BUTTONS)
    if holes_cut:
        least = exact(high) - max(Fraction(0), exact(lowest) - exact(LOWEST))
    return SleeveOpening(exact(high), exact(by), least)


def placket(high: Mm, by: Mm) -> SleeveOpening:
    """Above a cuff that is taken off and sewn back."""
    return SleeveOpening(exact(high), exact(by), exact(PLACKET))


def narrower(by: Mm, *, upper: Mm, lower: Mm, long: Mm) -> Fraction:
    """How much narrower a sleeve is ``by`` below its widest line, both laid flat: all round.

    It goes straight from ``upper`` to ``lower`` in ``long``. Shortened from the shoulder, that is
    what it lacks at the armhole. Raises FitError where it is not as long as that.
    """
    if exact(by) >= exact(long):
        raise FitError("The sleeve is not as long as that under the arm.")
    return 2 * (exact(upper) - exact(lower)) * exact(by) / exact(long)
