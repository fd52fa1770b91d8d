"""Skirts cut as sectors of a circle, and what closes at a waist: bands and elastic.

A skirt of ``share`` circles (1 full, 1/2 half, 1/4 quarter, 2 two) opens by the angle
``t = 2 pi share``. An edge of length W then lies at the radius ``W / t``, and a hem L below it is
``W + t L`` long. Lengths are mm; pi is taken to 50 decimals, and nothing is rounded here.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit import FitError
from clients.fit.lengths import Mm
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


@dataclass(frozen=True)
class CircleSkirt:
    """Where to cut a skirt of ``share`` circles: radii from the centre; ``hem`` is its edge.

    ``cloth`` is the length needed at the width asked for, None where no quarter fits across.
    ``across`` says how many quarter circles lie side by side.
    """

    share: Fraction
    stitching_radius: Fraction
    waist_radius: Fraction
    hem_radius: Fraction
    hem: Fraction
    across: int
    cloth: Fraction | None


def circle_skirt(
    waist: Mm, length: Mm, share: Fraction, *, seams: int, allowance: Mm, hem_depth: Mm, width: Mm
) -> CircleSkirt:
    """A circle skirt with ``seams`` from waist to hem, each with ``allowance`` on both plies.

    The seams' allowances (``2 x allowance`` each) are added to the waist before the radius is
    taken, the waist's own allowance goes off the radius (trade page, seen (2nd)). The cloth is
    what quarters need that lie in squares of the hem's radius. Raises FitError when the waist's
    allowance is wider than the radius.
    """
    with_seams = exact(waist) + 2 * exact(allowance) * seams
    stitching = radius(with_seams, share)
    if stitching <= exact(allowance):
        raise FitError("The waist is too small for this allowance.")
    outer = stitching + exact(length) + exact(hem_depth)
    across = int(exact(width) // outer)
    rows = -(-int(4 * share) // across) if across else 0
    return CircleSkirt(
        share=share,
        stitching_radius=stitching,
        waist_radius=stitching - exact(allowance),
        hem_radius=outer,
        hem=edge_below(waist, length, share),
        across=across,
        cloth=rows * outer if across else None,
    )


ELASTIC_SHORTER = Decimal(10)  # per cent shorter than the waist: common practice
ELASTIC_JOIN = Decimal(20)  # mm overlapped where the ends meet: common practice


@dataclass(frozen=True)
class Band:
    """``finished`` round the waist when closed; ``cut`` long with overlap and two allowances.

    ``halves`` are those of one that has a seam behind: the second has the overlap.
    """

    finished: Fraction
    cut: Fraction
    halves: tuple[Fraction, Fraction]


def band(waist: Mm, *, ease: Mm, overlap: Mm, allowance: Mm) -> Band:
    finished, seams = exact(waist) + exact(ease), 2 * exact(allowance)
    half = finished / 2 + seams
    return Band(finished, finished + exact(overlap) + seams, (half, half + exact(overlap)))


def elastic(waist: Mm, *, shorter: Decimal = ELASTIC_SHORTER, join: Mm = ELASTIC_JOIN) -> Fraction:
    """How long to cut elastic that sits ``shorter`` per cent inside the waist, ends overlapped.

    Raises FitError for 50 per cent and more.
    """
    if not 0 <= shorter < 50:
        raise FitError("Elastic is cut up to half shorter, such as 10 %.")
    return exact(waist) * (1 - exact(shorter) / 100) + exact(join)
