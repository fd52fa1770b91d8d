"""Where the hem lands, where to cut, and what turning it up takes. All lengths are mm, exact."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit import FitError
from clients.fit.handbook import length, table
from clients.fit.lengths import Mm
from clients.fit.skirts import angle, edge_below
from studio.shop.money import exact

TURN = Decimal("9.525")  # 3/8 in, the least that turns up by itself: common practice
FACED = Decimal("6.35")  # 1/4 in, the least that a tape or facing can be sewn to: common practice
INSIDE = Decimal("19.05")  # 3/4 in under a turn-up, of 1/2 to 1 in: common practice
UNIFORM_TURN_UP = Decimal("50.8")  # 2 in: US Army TM 10-227, p. 4-6
HANG_HOURS = (24, 48)  # circle and bias hems before levelling: trade page, seen (2nd)


@dataclass(frozen=True)
class Depth:
    """A published depth of hem; either bound may be missing. ``cloth`` empty: any."""

    name: str
    cloth: str
    least: Decimal | None
    most: Decimal | None
    source: str
    label: str


def hem_garments() -> dict[str, str]:
    """What depths are published for: key and name."""
    return {row["garment"]: row["name"] for row in table("hem_depths")}


def depths(garment: str, weight: str = "") -> tuple[Depth, ...]:
    """Every published depth for the garment: those of its cloth first, then those of any cloth.

    ``weight`` is sheer, medium, heavy or empty.
    """
    rows = [
        Depth(
            row["name"], row["cloth"], length(row["least"]), length(row["most"]),
            row["source"], row["label"],
        )
        for row in table("hem_depths")
        if row["garment"] == garment and row["cloth"] in {weight, ""}
    ]  # fmt: skip
    return tuple(sorted(rows, key=lambda depth: not depth.cloth))


def usual_depth(published: tuple[Depth, ...]) -> Fraction:
    """The middle of the first of them, or the one bound that it has."""
    bounds = [
        exact(bound) for bound in (published[0].least, published[0].most) if bound is not None
    ]
    return sum(bounds, Fraction(0)) / len(bounds)


def finished_length(to_floor: Mm, *, heel: Mm = 0, above_floor: Mm = 0, extra: Mm = 0) -> Fraction:
    """Waist or crotch to the hem, from the same point to the floor without shoes.

    The heel lifts the wearer, the hem stays ``above_floor``, a break asks for ``extra`` cloth.
    Raises FitError when nothing is left.
    """
    finished = exact(to_floor) + exact(heel) - exact(above_floor) + exact(extra)
    if finished <= 0:
        raise FitError("The hem would be above the point that is measured from.")
    return finished


@dataclass(frozen=True)
class Hem:
    """``finished`` length, ``allowance`` below it, and the ``cut`` line; front, side and back."""

    finished: Fraction
    allowance: Fraction
    slope: Fraction

    @property
    def cut(self) -> Fraction:
        return self.finished + self.allowance

    @property
    def front(self) -> Fraction:
        return self.finished - self.slope / 2

    @property
    def back(self) -> Fraction:
        return self.finished + self.slope / 2


def hem(finished: Mm, depth: Mm, *, turn_up: Mm = 0, inside: Mm = INSIDE, slope: Mm = 0) -> Hem:
    """A hem of ``depth``, or with a ``turn_up``: twice its height and what goes ``inside``.

    ``slope`` is how much longer the back is than the front; the sides stay at ``finished``.
    """
    allowance = 2 * exact(turn_up) + exact(inside) if turn_up else exact(depth)
    return Hem(exact(finished), allowance, exact(slope))


@dataclass(frozen=True)
class Lengthened:
    """Let down by ``by`` from what is turned up now. ``way`` is hem, faced or no."""

    by: Fraction
    most: Fraction
    left: Fraction

    @property
    def way(self) -> str:
        if self.left >= TURN:
            return "hem"
        return "faced" if self.left >= FACED else "no"


def lengthen(by: Mm, turned_up: Mm) -> Lengthened:
    """Whether ``turned_up`` (the hem's depth now) can give ``by``, and the most it can give."""
    most = max(Fraction(0), exact(turned_up) - exact(FACED))
    return Lengthened(exact(by), most, exact(turned_up) - exact(by))


@dataclass(frozen=True)
class Eased:
    """A shaped hem: its ``edge`` all round, and how much the turned-up cloth has in ``excess``."""

    edge: Fraction
    above: Fraction

    @property
    def excess(self) -> Fraction:
        return self.edge - self.above


def flared(at_hem: Mm, above: Mm) -> Eased:
    """An A-line laid flat: its width at the finished hem, and as far above as the hem is deep.

    Both are widths of the garment lying flat, so the edges are twice as long.
    """
    return Eased(2 * exact(at_hem), 2 * exact(above))


def circle_hem(waist: Mm, length: Mm, share: Fraction, *, depth: Mm, shorten: Mm = 0) -> Eased:
    """The hem of ``share`` circles round ``waist``, after ``shorten``, turned up by ``depth``.

    Exact: the excess is the angle times the depth. Raises FitError when the hem or what is
    turned up would reach the waist.
    """
    finished = exact(length) - exact(shorten)
    if finished <= exact(depth):
        raise FitError("This leaves no skirt between the waist and the hem.")
    edge = edge_below(waist, finished, share)
    return Eased(edge, edge - angle(share) * exact(depth))
