"""Where the hem lands, where to cut, and what turning it up takes. All lengths are mm, exact."""

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from clients.fit import FitError
from clients.fit.alterations import SPREAD
from clients.fit.handbook import length, table
from clients.fit.lengths import Mm
from clients.fit.skirts import angle, edge_below
from studio.shop.money import exact

TURN = Decimal("9.525")  # 3/8 in, the least that turns up by itself: common practice
FACED = Decimal("6.35")  # 1/4 in, the least that a tape or facing can be sewn to: common practice
INSIDE = Decimal("19.05")  # 3/4 in under a turn-up, of 1/2 to 1 in: common practice
LEAST_INSIDE = Decimal("12.7")  # 1/2 in, the least of them
LEAST_TURN_UP = Decimal("25.4")  # 1 in; a lower one is a hem: common practice
LINING_HEM = Decimal("25.4")  # 1 in turned up: common practice
SEAM = Decimal(
    "9.525"
)  # 3/8 in, of leg and of hem where the original edge is sewn back: common practice
EASED = Decimal("9.525")  # 3/8 in all round is eased in; more is taken in: common practice
SHOE_TOP = Decimal("76.2")  # 3 in above the floor, where trousers touch a low shoe: common practice
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

    The heel lifts the wearer, the hem stays ``above_floor``. A break of trousers asks for ``extra``
    cloth below the top of the shoe, which then is what they stay ``above_floor``.
    Raises FitError when nothing is left.
    """
    finished = exact(to_floor) + exact(heel) - exact(above_floor) + exact(extra)
    if finished <= 0:
        raise FitError("The hem would be above the point that is measured from.")
    return finished


@dataclass(frozen=True)
class Hem:
    """``finished`` length, ``allowance`` below it, and the ``cut`` line; front, side and back.

    ``cloth`` is where the cloth ends, None where that was not measured; then nothing is known to
    be there. The lowest point of the cut line is the one that has to be on the cloth. ``wanted`` is
    the allowance that was asked for, where the cloth gives less.
    """

    finished: Fraction
    allowance: Fraction
    slope: Fraction = Fraction(0)
    cloth: Fraction | None = None
    wanted: Fraction | None = None

    @property
    def cut(self) -> Fraction:
        return self.finished + self.allowance

    @property
    def front(self) -> Fraction:
        return self.finished - self.slope / 2

    @property
    def back(self) -> Fraction:
        return self.finished + self.slope / 2

    @property
    def there(self) -> Fraction | None:
        """The cloth below the lowest point of the finished edge; less than nothing above it."""
        return None if self.cloth is None else self.cloth - self.back

    @property
    def on_the_cloth(self) -> bool:
        """The cut line does not leave the cloth, as far as that is known."""
        return self.there is None or self.allowance <= self.there

    @property
    def way(self) -> str:
        """What the allowance is enough for: hem, faced or no. What was asked for is a hem."""
        if self.wanted is None or self.allowance >= exact(TURN):
            return "hem"
        return "faced" if self.allowance >= exact(FACED) else "no"

    @property
    def longest(self) -> Fraction | None:
        """The longest finished length on this cloth: a facing is sewn to what stays below."""
        if self.cloth is None:
            return None
        least = exact(FACED) if self.wanted is None else min(exact(FACED), self.wanted)
        return self.cloth - self.slope / 2 - least


def cloth_end(now: Mm, turned_up: Mm) -> Fraction:
    """Where the cloth ends: the edge ``now``, and all that is turned up behind it."""
    return exact(now) + exact(turned_up)


class NoTurnUpError(FitError):
    """The cloth ends before the turn-up is folded."""


def hem(
    finished: Mm, depth: Mm, *, turn_up: Mm = 0, inside: Mm = INSIDE, slope: Mm = 0,
    faced: bool = False, cloth: Mm | None = None,
) -> Hem:  # fmt: skip
    """A hem of ``depth``, or with a ``turn_up``: twice its height and what goes ``inside``.

    One that is ``faced`` needs no more below it than the facing is sewn to. ``slope`` is how much
    longer the back is than the front; the sides stay at ``finished``. Where the ``cloth`` is known
    to end the hem takes at most what is there, see ``Hem.way``; of a turn-up only what goes inside
    may give way, down to `LEAST_INSIDE`. Raises NoTurnUpError when the turn-up is not there.
    """
    allowance = exact(FACED) if faced else exact(depth)
    if turn_up:
        allowance = 2 * exact(turn_up) + exact(inside)
    wanted = Hem(exact(finished), allowance, exact(slope), None if cloth is None else exact(cloth))
    if wanted.there is None or wanted.on_the_cloth:
        return wanted
    if turn_up and wanted.there < 2 * exact(turn_up) + exact(LEAST_INSIDE):
        raise NoTurnUpError("There is too little cloth for this turn-up.")
    return replace(wanted, allowance=max(Fraction(0), wanted.there), wanted=allowance)


def highest_turn_up(there: Mm) -> Fraction:
    """The highest turn-up that ``there`` below the finished edge gives; nothing at the least."""
    return max(Fraction(0), (exact(there) - exact(LEAST_INSIDE)) / 2)


def lining_hem(outer: Hem, shorter: Mm, *, depth: Mm = LINING_HEM, cloth: Mm | None = None) -> Hem:
    """The hem of a lining that ends ``shorter`` than the ``outer`` cloth, all round.

    Both are measured from the same point. Raises FitError when no lining would be left.
    """
    if exact(shorter) < 0 or exact(shorter) >= outer.front:
        raise FitError("The lining is to end between the top and the finished edge.")
    return hem(outer.finished - exact(shorter), depth, slope=outer.slope, cloth=cloth)


@dataclass(frozen=True)
class EdgeKept:
    """The original hem, ``band`` high, sewn back below a leg that got shorter by ``by``.

    All is measured on the garment as it is now. ``out`` is the ring that is cut from the middle,
    between the ``leg_cut`` and the ``band_cut``; where there is less than a seam's two allowances,
    ``tuck`` is folded instead and nothing is cut. ``slant`` is how much wider the leg gets, lying
    flat, per mm above its edge; None where nobody has measured it.
    """

    now: Fraction
    by: Fraction
    band: Fraction
    slant: Fraction | None = None

    @property
    def seam(self) -> Fraction:
        """Where it lies on the finished leg."""
        return self.now - self.by - self.band

    @property
    def out(self) -> Fraction:
        return max(Fraction(0), self.by - 2 * exact(SEAM))

    @property
    def leg_cut(self) -> Fraction:
        return self.seam + exact(SEAM)

    @property
    def band_cut(self) -> Fraction:
        return self.now - self.band - exact(SEAM)

    @property
    def tuck(self) -> Fraction:
        """How deep the fold above the hem is, where nothing is cut."""
        return Fraction(0) if self.out else self.by / 2

    @property
    def wider(self) -> Fraction:
        """By how much more the leg is round than its own edge where they meet, or less.

        They meet where they were ``by`` apart.
        """
        return 2 * self.by * (self.slant or Fraction(0))

    @property
    def join(self) -> str:
        """How they come to meet: even, eased, the leg or the band taken in; or too far apart.

        Over 3 cm is not taken from the seams below a knee alone: trade page, seen (2nd).
        """
        apart = abs(self.wider)
        if apart <= exact(EASED):
            return "eased" if apart else "even"
        if apart > SPREAD:
            return "apart"
        return "leg" if self.wider > 0 else "band"

    @property
    def a_seam(self) -> Fraction:
        """What the wider of both loses at each of two seams, lying flat."""
        return abs(self.wider) / 4

    def opening(self, at_edge: Mm) -> Fraction:
        """Round the finished edge of a leg that is ``at_edge`` wide there, lying flat."""
        return 2 * exact(at_edge) + (self.wider if self.join == "band" else 0)


def slant(at_edge: Mm, above: Mm, apart: Mm) -> Fraction:
    """Of a leg lying flat with straight sides: its widths at the edge and ``apart`` above it."""
    return (exact(above) - exact(at_edge)) / exact(apart)


def edge_kept(now: Mm, finished: Mm, band: Mm, *, slant: Fraction | None = None) -> EdgeKept:
    """The original edge of a leg that is ``now`` so long, on one of ``finished`` length.

    Raises FitError where it gets no shorter, or where the seam would leave the leg.
    """
    kept = EdgeKept(exact(now), exact(now) - exact(finished), exact(band), slant)
    if kept.by <= 0:
        raise FitError("The original edge is only kept where it gets shorter.")
    if kept.band <= 0 or kept.seam <= 0:
        raise FitError("The original hem is higher than what stays of it.")
    return kept


@dataclass(frozen=True)
class Facing:
    """A strip sewn to the edge: how high to cut it, and how long where the edge is known."""

    high: Fraction
    long: Fraction | None


def facing(depth: Mm, edge: Mm | None = None) -> Facing:
    """For a hem of ``depth`` round ``edge``: a seam on either side of it and at both ends."""
    both = 2 * exact(FACED)
    return Facing(exact(depth) + both, None if edge is None else exact(edge) + both)


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


def circle_hem(
    waist: Mm, length: Mm, share: Fraction, *, depth: Mm, shorten: Mm = 0,
    cloth: Mm | None = None,
) -> Eased:  # fmt: skip
    """The hem of ``share`` circles round ``waist``, after ``shorten``, turned up by ``depth``.

    Exact: the excess is the angle times the depth. Raises FitError when the hem or what is
    turned up would reach the waist, or the depth would reach beyond where the ``cloth`` ends.
    """
    finished = exact(length) - exact(shorten)
    if finished <= exact(depth):
        raise FitError("This leaves no skirt between the waist and the hem.")
    if cloth is not None and finished + exact(depth) > exact(cloth):
        raise FitError("The cloth ends before this hem does.")
    edge = edge_below(waist, finished, share)
    return Eased(edge, edge - angle(share) * exact(depth))
