"""What is spaced evenly: buttons, pleats, gathers. Lengths are mm, exact; nothing is rounded here.

The divisions are geometry. What a button needs beside it and how full gathers are, is common
practice.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit import FitError
from clients.fit.lengths import Mm
from studio.shop.money import exact

BESIDE = Decimal("6.35")  # 1/4 in from the button's rim to the edge: common practice
MOST = 200  # of anything in a row


@dataclass(frozen=True)
class Buttons:
    """Where each sits, from the upper edge down, and how far they are apart."""

    places: tuple[Fraction, ...]
    apart: Fraction

    @property
    def count(self) -> int:
        return len(self.places)


def buttons(length: Mm, *, count: int, top: Mm, bottom: Mm, at: Mm | None = None) -> Buttons:
    """``count`` buttons, the first ``top`` below the upper edge, the last ``bottom`` above the end.

    With ``at`` one of them sits there, such as at the bust: the distance above it is divided as
    nearly as even spacing would, and goes on below as far as there is room; the count may then be
    another and the last sit higher. Raises FitError where there is no room for two.
    """
    first, last = exact(top), exact(length) - exact(bottom)
    if not 2 <= count <= MOST:
        raise FitError("Two buttons at the least are spaced, and not more than 200.")
    if last <= first:
        raise FitError("There is no room between the first and the last button.")
    even = (last - first) / (count - 1)
    if at is None:
        return Buttons(tuple(first + even * place for place in range(count)), even)
    if not first < exact(at) <= last:
        raise FitError("The button that has its place sits between the first and the last.")
    above = max(1, round((exact(at) - first) / even))
    apart = (exact(at) - first) / above
    total = 1 + int((last - first) // apart)
    return Buttons(tuple(first + apart * place for place in range(total)), apart)


def buttonhole(diameter: Mm, thickness: Mm) -> Fraction:
    """How long to cut it: the button's diameter and its thickness (common practice)."""
    return exact(diameter) + exact(thickness)


def beyond_centre(diameter: Mm) -> Fraction:
    """How far the edge lies beyond the line of the buttons: half of one and ``BESIDE``."""
    return exact(diameter) / 2 + exact(BESIDE)


# How many folds lie behind one pleat: a box or an inverted pleat is two knife pleats, face to face.
FOLDS = {"knife": 1, "box": 2}


@dataclass(frozen=True)
class Pleats:
    """``count`` pleats alike, each ``visible`` wide, with ``folds`` folded back by ``depth``."""

    count: int
    visible: Fraction
    depth: Fraction
    folds: int

    @property
    def taken(self) -> Fraction:
        """What one pleat takes beyond what is seen: every fold goes back and forth."""
        return 2 * self.depth * self.folds

    @property
    def finished(self) -> Fraction:
        return self.visible * self.count

    @property
    def cloth(self) -> Fraction:
        """How wide the cloth is before it is folded, without the seams."""
        return self.count * (self.visible + self.taken)

    @property
    def overlap(self) -> bool:
        """The folds lie over one another behind: more than three plies."""
        return self.depth * self.folds > self.visible


def pleats(finished: Mm, *, count: int, depth: Mm, folds: int) -> Pleats:
    """Raises FitError without a pleat."""
    if not 1 <= count <= MOST:
        raise FitError("Write how many pleats there are, 1 to 200.")
    return Pleats(count, exact(finished) / count, exact(depth), folds)


def pleats_of(cloth: Mm, finished: Mm, *, count: int, folds: int) -> Pleats:
    """As deep as ``cloth`` of this width makes them. Raises FitError where none is to spare."""
    if exact(cloth) <= exact(finished):
        raise FitError("There is no cloth to fold: it is no wider than the finished width.")
    pleated = pleats(finished, count=count, depth=0, folds=folds)
    spare = exact(cloth) - exact(finished)
    return Pleats(count, pleated.visible, spare / (2 * folds * count), folds)


@dataclass(frozen=True)
class Gathers:
    """``cloth`` drawn up to ``finished``, both without their seams."""

    finished: Fraction
    cloth: Fraction

    @property
    def fullness(self) -> Fraction:
        return self.cloth / self.finished


def gathers(finished: Mm, *, fullness: Decimal | Fraction) -> Gathers:
    return gathers_of(exact(finished) * exact(fullness), finished)


def gathers_of(cloth: Mm, finished: Mm) -> Gathers:
    """Raises FitError where the cloth is no wider than what it is drawn up to."""
    if exact(cloth) <= exact(finished):
        raise FitError("There is nothing to gather: the cloth is no wider than the finished width.")
    return Gathers(exact(finished), exact(cloth))


def widths_of_cloth(cloth: Mm, width: Mm, *, allowance: Mm) -> int:
    """How many widths are sewn together, each losing its ``allowance`` at both sides.

    Raises FitError where nothing is left between the allowances.
    """
    left = exact(width) - 2 * exact(allowance)
    if left <= 0:
        raise FitError("The cloth is all seam allowance.")
    return int(-(-exact(cloth) // left))
