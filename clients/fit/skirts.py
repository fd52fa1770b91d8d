"""Cutting a circle skirt from the waist. Lengths are mm and exact."""

from dataclasses import dataclass
from fractions import Fraction

from clients.fit.circles import edge_below, radius
from clients.fit.errors import FitError
from clients.fit.numbers import Mm
from studio.shop.money import exact


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
