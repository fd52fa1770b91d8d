"""Taking in, letting out, tapering a leg, patching: what goes where. Lengths are mm and exact.

One change of the girth is shared exactly over seams and darts. A seam joins two plies, and what is
moved on each of them counts: a change of ``total`` over ``n`` seams moves every stitching line by
``total / (2 n)``. A dart counts as one seam. The shares (Fraction) add up to the total.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit import FitError
from clients.fit.lengths import Mm
from studio.shop.money import exact, round_half_up

KEEP = Decimal("9.525")  # 3/8 in stays beside the stitching: trade page, seen (2nd)


@dataclass(frozen=True)
class Seam:
    """``count`` seams alike (2 for a pair) with ``allowance`` beside the stitching on each ply.

    ``keep`` of it has to stay. An allowance of None was not measured: enough for taking in.
    """

    name: str
    allowance: Mm | None = None
    keep: Mm = KEEP
    count: int = 1
    let_out_before: bool = False

    @property
    def plies(self) -> int:
        return 2 * self.count

    @property
    def room(self) -> Fraction:
        """How far its stitching line can move outwards on each ply."""
        if self.allowance is None:
            return Fraction(0)
        return max(Fraction(0), exact(self.allowance) - exact(self.keep))


@dataclass(frozen=True)
class Share:
    """What one seam gives: ``per_ply`` on each ply, and the allowance ``left`` there afterwards."""

    seam: Seam
    per_ply: Fraction
    left: Fraction | None

    @property
    def total(self) -> Fraction:
        return self.per_ply * self.seam.plies


@dataclass(frozen=True)
class Sharing:
    """``asked`` in total, ``most`` that there is (None: no bound), and what each seam gives."""

    asked: Fraction
    most: Fraction | None
    shares: tuple[Share, ...]

    @property
    def given(self) -> Fraction:
        return sum((share.total for share in self.shares), Fraction(0))

    @property
    def possible(self) -> bool:
        return self.given == self.asked

    @property
    def even(self) -> bool:
        """Every ply gives the same."""
        return len({share.per_ply for share in self.shares}) == 1


@dataclass(frozen=True)
class InSteps:
    """A share as a tape shows it: ``each`` on every ply, and ``more`` plies take one step more."""

    share: Share
    each: Fraction
    more: int


def in_steps(sharing: Sharing, step: Fraction) -> tuple[InSteps, ...]:
    """What each seam gives in whole steps, so that what is shown adds up to the total as shown.

    Every ply rounds down; what is left goes over whole seams, those that lost most first, and the
    last seam that is still short takes the rest on some of its plies. No ply is a whole step off.
    """
    whole = round_half_up(sharing.given / step) if sharing.possible else sharing.given // step
    steps = [int(share.per_ply // step) for share in sharing.shares]
    plies = [share.seam.plies for share in sharing.shares]
    rest = whole - sum(count * each for count, each in zip(plies, steps, strict=True))
    more = [0] * len(steps)
    lost = [share.per_ply % step for share in sharing.shares]
    for seam in sorted(range(len(steps)), key=lambda seam: (-lost[seam], seam)):
        if lost[seam] and plies[seam] <= rest:
            steps[seam], rest, lost[seam] = steps[seam] + 1, rest - plies[seam], Fraction(0)
    if rest:
        more[max(seam for seam, short in enumerate(lost) if short)] = rest
    return tuple(
        InSteps(share, each * step, extra)
        for share, each, extra in zip(sharing.shares, steps, more, strict=True)
    )


def take_in(total: Mm, seams: Sequence[Seam]) -> Sharing:
    """The same on every ply: ``total / (2 x seams)``; allowances grow by it.

    Raises FitError without a seam or for a total that is not more than nothing.
    """
    asked = _checked(total, seams)
    per_ply = asked / sum(seam.plies for seam in seams)
    return Sharing(asked, None, tuple(_share(seam, per_ply, per_ply) for seam in seams))


def let_out(total: Mm, seams: Sequence[Seam]) -> Sharing:
    """Equal per ply as far as each seam has it, the rest from the seams that have more.

    No other sharing that reaches the total moves the stitching line that moves most by less. A
    total that is not there is answered with everything that is. O(n log n). Raises as `take_in`.
    """
    asked = _checked(total, seams)
    most = sum((seam.room * seam.plies for seam in seams), Fraction(0))
    level = _level(min(asked, most), seams)
    steps = [(seam, min(seam.room, level)) for seam in seams]
    return Sharing(asked, most, tuple(_share(seam, step, -step) for seam, step in steps))


def _level(total: Fraction, seams: Sequence[Seam]) -> Fraction:
    """The step per ply at which seams, each capped at its room, give ``total`` together."""
    rest, plies = total, sum(seam.plies for seam in seams)
    level = Fraction(0)
    for seam in sorted(seams, key=lambda seam: seam.room):
        level = rest / plies
        if level <= seam.room:
            break
        rest -= seam.room * seam.plies
        plies -= seam.plies
        level = seam.room
    return level


def _share(seam: Seam, per_ply: Fraction, more: Fraction) -> Share:
    """``more`` is what the allowance grows by, or loses where it is negative."""
    left = None if seam.allowance is None else exact(seam.allowance) + more
    return Share(seam, per_ply, left)


def _checked(total: Mm, seams: Sequence[Seam]) -> Fraction:
    asked = exact(total)
    if not seams:
        raise FitError("Name at least one seam or dart.")
    if asked <= 0:
        raise FitError("The change is more than nothing.")
    return asked


SPREAD = 30  # mm round the leg; more is spread above and below the knee: trade page, seen (2nd)


@dataclass(frozen=True)
class LegPlace:
    """One height of the leg, ``below_knee`` mm down: its flat width now and then."""

    name: str
    below_knee: Fraction
    now: Fraction
    then: Fraction


@dataclass(frozen=True)
class Taper:
    knee: LegPlace
    middle: LegPlace
    hem: LegPlace

    @property
    def places(self) -> tuple[LegPlace, ...]:
        return (self.knee, self.middle, self.hem)

    @property
    def opening(self) -> Fraction:
        """Round the new hem."""
        return 2 * self.hem.then

    @property
    def taken(self) -> Fraction:
        """The most that is taken, round the leg."""
        return max(2 * (place.now - place.then) for place in self.places)

    @property
    def needs_spreading(self) -> bool:
        """More than 3 cm goes and all of it below the knee."""
        return self.taken > SPREAD and self.knee.now == self.knee.then

    def passes(self, instep: Mm) -> bool:
        """The foot goes through, by its girth round heel and instep."""
        return self.opening >= exact(instep)


def taper(*, knee: Mm, hem: Mm, new_knee: Mm, new_hem: Mm, knee_to_hem: Mm) -> Taper:
    """Straight new seams from the knee to the hem, the same taken from both below the knee.

    Raises FitError when a new width is wider than the old one.
    """
    if exact(new_knee) > exact(knee) or exact(new_hem) > exact(hem):
        raise FitError("A taper only takes away: the new width is wider than the old one.")
    down = exact(knee_to_hem)
    top = LegPlace("Knee", Fraction(0), exact(knee), exact(new_knee))
    bottom = LegPlace("Hem", down, exact(hem), exact(new_hem))
    middle = LegPlace("Halfway", down / 2, (top.now + bottom.now) / 2, (top.then + bottom.then) / 2)
    return Taper(top, middle, bottom)


BEYOND = Decimal("19.05")  # 3/4 in past the hole on every side, and the least distance to a seam


@dataclass(frozen=True)
class Patch:
    """The size to cut. ``fusible`` is allowed where the hole is 3/4 in or more from a seam."""

    width: Fraction
    height: Fraction
    fusible: bool


def patch(width: Mm, height: Mm, *, to_seam: Mm) -> Patch:
    """A patch for a hole ``width`` by ``height`` that lies ``to_seam`` from the nearest seam."""
    around = 2 * exact(BEYOND)
    near = exact(to_seam) < exact(BEYOND)
    return Patch(exact(width) + around, exact(height) + around, not near)
