"""Waistbands, elastic, and circle skirts from the waist. Lengths are mm and exact."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from clients.fit.circles import edge_below, radius
from clients.fit.errors import FitError
from studio.shop.money import exact

Mm = Decimal | Fraction | int

ELASTIC_SHORTER = Decimal(10)  # per cent shorter than the waist: common practice
ELASTIC_JOIN = Decimal(20)  # mm overlapped where the ends meet: common practice


@dataclass(frozen=True)
class Band:
    """``finished`` round the waist when closed; ``cut`` long with overlap and two allowances."""

    finished: Fraction
    cut: Fraction


def band(waist: Mm, *, ease: Mm, overlap: Mm, allowance: Mm) -> Band:
    finished = exact(waist) + exact(ease)
    return Band(finished, finished + exact(overlap) + 2 * exact(allowance))


def elastic(waist: Mm, *, shorter: Decimal = ELASTIC_SHORTER, join: Mm = ELASTIC_JOIN) -> Fraction:
    """How long to cut elastic that sits ``shorter`` per cent inside the waist, ends overlapped.

    Raises FitError for 50 per cent and more.
    """
    if not 0 <= shorter < 50:
        raise FitError("Elastic is cut up to half shorter, such as 10 %.")
    return exact(waist) * (1 - exact(shorter) / 100) + exact(join)


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
