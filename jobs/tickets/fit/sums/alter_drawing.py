"""Every seam's allowance as a strip: the stitching now, the new line, and the raw edge."""

from fractions import Fraction

from clients.fit.alterations import Sharing
from jobs.tickets.fit.drawings import Drawing, Shape, Word, box, draw
from jobs.tickets.fit.showing import Show

STRIP, STEP = 20, 50  # height of a strip and of a row, in units of the drawing


def seams_drawing(sharing: Sharing, way: str, show: Show) -> Drawing:
    """The garment lies to the left of each stitching line, the allowance to its right."""
    sign = 1 if way == "out" else -1
    shapes, words, told = [], [], []
    for row, share in enumerate(sharing.shares):
        top, bottom = row * STEP, row * STEP + STRIP
        edge = share.seam.allowance or share.per_ply
        shapes += [
            box("cloth", min(Fraction(0), sign * share.per_ply), top, edge, bottom),
            Shape("now", [(0, top), (0, bottom)]),
            Shape("new", [(sign * share.per_ply, top), (sign * share.per_ply, bottom)]),
        ]
        moved = f"{share.seam.name}: {show(share.per_ply)} a ply"
        words.append(Word((min(shape_x(sharing, sign), 0), top), moved, "start"))
        told.append(moved)
    direction = "outwards" if way == "out" else "inwards"
    alt = f"The stitching moves {direction} from the dashed line. {'; '.join(told)}."
    return draw(shapes, words, alt, height=(len(sharing.shares) - 1) * STEP + STRIP)


def shape_x(sharing: Sharing, sign: int) -> int:
    """How far left the widest strip reaches."""
    return min(0, *(int(sign * share.per_ply) for share in sharing.shares))
