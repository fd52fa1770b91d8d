"""Circles and their parts: a skirt cut as a sector round its waist.

A skirt of ``share`` circles (1 full, 1/2 half, 1/4 quarter, 2 two) opens by the angle
``t = 2 pi share``. An edge of length W then lies at the radius ``W / t``, and a hem L below it is
``W + t L`` long. Lengths are mm; pi is taken to 50 decimals, and nothing is rounded here.
"""

from fractions import Fraction

from clients.fit.numbers import Mm
from studio.shop.money import exact

# From the On-Line Encyclopedia of Integer Sequences, A000796.
PI = Fraction("3.14159265358979323846264338327950288419716939937510")


SHARES = {
    "1/4": "Quarter circle",
    "1/2": "Half circle",
    "3/4": "Three quarters",
    "1": "Full circle",
    "3/2": "One and a half circles",
    "2": "Two circles",
}


def angle(share: Fraction) -> Fraction:
    """The opening of ``share`` circles in radians."""
    return 2 * PI * share


def radius(edge: Mm, share: Fraction) -> Fraction:
    """Where an edge of this length lies."""
    return exact(edge) / angle(share)


def edge_below(waist: Mm, length: Mm, share: Fraction) -> Fraction:
    """The edge ``length`` below an edge of ``waist``; a negative length looks above it."""
    return exact(waist) + angle(share) * exact(length)
