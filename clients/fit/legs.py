"""Tapering a trouser leg. Widths are of the leg lying flat, in mm; results are exact."""

from dataclasses import dataclass
from fractions import Fraction

from clients.fit.errors import FitError
from clients.fit.numbers import Mm
from studio.shop.money import exact

SPREAD = 30  # mm round the leg; more is spread above and below the knee: trade page, seen (2nd)


@dataclass(frozen=True)
class Place:
    """One height of the leg, ``below_knee`` mm down: its flat width now and then."""

    name: str
    below_knee: Fraction
    now: Fraction
    then: Fraction

    @property
    def from_each_seam(self) -> Fraction:
        """How far the stitching moves in at the inner and at the outer seam: the same at both."""
        return (self.now - self.then) / 2


@dataclass(frozen=True)
class Taper:
    knee: Place
    middle: Place
    hem: Place

    @property
    def places(self) -> tuple[Place, ...]:
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
    top = Place("Knee", Fraction(0), exact(knee), exact(new_knee))
    bottom = Place("Hem", down, exact(hem), exact(new_hem))
    middle = Place("Halfway", down / 2, (top.now + bottom.now) / 2, (top.then + bottom.then) / 2)
    return Taper(top, middle, bottom)
