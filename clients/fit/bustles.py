"""Where a train is picked up so that it clears the floor. All lengths are mm.

The edge of a train is taken as half an ellipse; how many points a train has is common practice. It
is where to begin: every point is pinned on the client in the shoes of the event.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import sqrt

from clients.fit import FitError
from clients.fit.lengths import Mm
from studio.shop.money import exact

# The longest train of so many points in a row: 12, 36 and 60 in.
USUAL = ((1, Decimal("304.8")), (3, Decimal("914.4")), (5, Decimal(1524)))
MOST = 15


@dataclass(frozen=True)
class BustlePoint:
    """``aside`` of the middle; picked up ``down`` below the waist, hooked in ``hook`` below it."""

    aside: Fraction
    down: Fraction
    hook: Fraction

    @property
    def lift(self) -> Fraction:
        return self.down - self.hook


def usual_points(train: Mm) -> int:
    return next((count for count, most in USUAL if exact(train) <= most), 7)


def beyond(train: Mm, half: Mm, aside: Mm) -> Fraction:
    """How far the edge of the train lies beyond the level hem, so far aside of the middle."""
    share = float(exact(aside) / exact(half))
    return exact(train) * Fraction(sqrt(max(0.0, 1 - share * share)))


def bustle(
    train: Mm, wide: Mm, to_floor: Mm, *, hook: Mm, clear: Mm, points: int = 0
) -> tuple[BustlePoint, ...]:
    """The points from left to right, evenly across the ``wide`` train; ``points`` 0: as usual.

    Each is lifted by what lies beyond the floor there, and by ``clear``. Raises FitError where
    what hangs down from the hook would reach the floor again.
    """
    count, half = points or usual_points(train), exact(wide) / 2
    placed = []
    for at in range(1, count + 1):
        aside = -half + 2 * half * at / (count + 1)
        lift = beyond(train, half, aside) + exact(clear)
        if exact(hook) + lift / 2 > exact(to_floor) - exact(clear):
            raise FitError("What is lifted would hang to the floor again: take a second row.")
        placed.append(BustlePoint(aside, exact(hook) + lift, exact(hook)))
    return tuple(placed)
