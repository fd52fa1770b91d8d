"""The lower end of a garment: the hem now, the finished edge, the cut line."""

from fractions import Fraction

from clients.fit.hems import Hem
from clients.fit.lengths import Mm
from jobs.tickets.fit.drawings import Drawing, Shape, Word, box, draw
from jobs.tickets.fit.showing import Show
from studio.shop.money import exact

WIDE = 100
ABOVE, BELOW = 6, -14  # the two on the right keep clear of each other: the lower is told below


def hem_drawing(hem: Hem, now: Mm, show: Show) -> Drawing:
    """``now`` is the length before, 0 where it was not measured."""
    lines: list[Fraction] = [hem.front, hem.back, hem.cut, *([exact(now)] if now else [])]
    top = min(lines) - max(max(lines) - min(lines), Fraction(20))
    low = hem.slope / 2
    shapes = [
        box("cloth", 0, top, WIDE, max(lines)),
        Shape("cut", [(0, hem.cut - low), (WIDE, hem.cut + low)]),
        Shape("new", [(0, hem.front), (WIDE, hem.back)]),
    ]
    cut_lowest = exact(now) <= hem.cut + low
    words = [
        Word((0, hem.front), f"finished {show(hem.finished)}", "start"),
        Word((WIDE, hem.cut + low), f"cut {show(hem.cut)}", "end", BELOW if cut_lowest else ABOVE),
    ]
    told = [f"finished edge at {show(hem.finished)}", f"cut line at {show(hem.cut)}"]
    if now:
        shapes.append(Shape("now", [(0, exact(now)), (WIDE, exact(now))]))
        lift = ABOVE if cut_lowest else BELOW
        words.append(Word((WIDE, exact(now)), f"now {show(now)}", "end", lift))
        told.append(f"the edge now at {show(now)}")
    return draw(shapes, words, f"The lower end of the garment: {', '.join(told)}.", height=170)
