"""Drawings of a circle skirt: its arcs about the middle of the circle."""

import math
from collections.abc import Sequence
from fractions import Fraction

from clients.fit.lengths import Mm
from jobs.tickets.fit.drawings import Drawing, Point, Shape, Word, draw

STEPS = 48


def arc(radius: Mm, share: Fraction) -> list[Point]:
    """The arc of at most a whole circle, symmetrical about the line straight down."""
    opening = 2 * math.pi * min(float(share), 1.0)
    angles = [opening * (step / STEPS - 0.5) for step in range(STEPS + 1)]
    return [(float(radius) * math.sin(a), float(radius) * math.cos(a)) for a in angles]


def sector(
    radii: tuple[Mm, Mm], share: Fraction, lines: Sequence[tuple[str, Mm]], words: str, alt: str
) -> Drawing:
    """The cloth between two radii, with an arc of its own kind for each further radius."""
    waist, hem = (arc(radius, share) for radius in radii)
    outline = [*waist, *reversed(hem), waist[0]]
    shapes = [Shape("cloth", outline), *(Shape(kind, arc(at, share)) for kind, at in lines)]
    return draw(shapes, [Word((0, float(sum(radii)) / 2), words)], alt)
