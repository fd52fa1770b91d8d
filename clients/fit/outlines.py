"""The outline of a kind of garment, true along the length that is hemmed.

Lengths are mm from where the length is measured: the crotch of trousers, the waist of a skirt, the
shoulder of a sleeve or a coat. Widths are what such a garment usually has (common practice): they
only make the picture, no sum uses them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from clients.fit.lengths import Mm
from studio.shop.money import exact

Rung = tuple[Fraction, int, int]
"""How far down, and where the cloth is there: left and right."""
Corners = Sequence[tuple[Mm, Mm]]

LEGS = ("trousers", "jeans", "shorts", "jumpsuit", "child", "night")
TOPS = ("shirt", "knit", "jacket", "coat", "waistcoat")
USUAL = {
    "trousers": 800, "jeans": 800, "jumpsuit": 780, "shorts": 250, "child": 500, "night": 600,
    "skirt": 650, "dress": 1000, "gown": 1450, "shirt": 720, "knit": 650, "jacket": 720,
    "coat": 1050, "waistcoat": 550, "curtains": 2200, "sleeve": 620,
}  # fmt: skip
"""How long such a piece is where nobody has measured it: common practice."""


@dataclass(frozen=True)
class Panel:
    """A part that is hemmed, by ``rungs`` from above; below the last it goes on as wide."""

    rungs: tuple[Rung, ...]

    def span(self, down: Mm) -> tuple[Fraction, Fraction]:
        """Where its left and right edge are so far down."""
        at = exact(down)
        for above, below in zip(self.rungs, self.rungs[1:], strict=False):
            if at <= below[0]:
                share = (at - above[0]) / (below[0] - above[0])
                return (
                    above[1] + share * (below[1] - above[1]),
                    above[2] + share * (below[2] - above[2]),
                )
        _, left, right = self.rungs[-1]
        return Fraction(left), Fraction(right)

    def corners(self, top: Mm, bottom: Mm) -> Corners:
        """The part of it between ``top`` and ``bottom``, all round."""
        inner = [rung[0] for rung in self.rungs if exact(top) < rung[0] < exact(bottom)]
        downs = [exact(top), *inner, exact(bottom)]
        left = [(self.span(down)[0], down) for down in downs]
        right = [(self.span(down)[1], down) for down in reversed(downs)]
        return [*left, *right, left[0]]


@dataclass(frozen=True)
class Outline:
    """The ``panels`` that are hemmed, and what else is drawn of the garment."""

    panels: tuple[Panel, ...]
    others: tuple[Corners, ...] = ()


def outline(drawing: str, length: Mm) -> Outline | None:
    """The garment of that drawing, or a ``sleeve``, ``length`` long; None where it has no hem."""
    long, zero = exact(length), Fraction(0)
    if drawing in LEGS:
        hips = [(-240, -260), (240, -260), (270, 0), (-270, 0), (-240, -260)]
        left = Panel(((zero, -270, -6), (long, -235, -40)))
        right = Panel(((zero, 6, 270), (long, 40, 235)))
        return Outline((left, right), (hips,))
    if drawing in TOPS:
        arms = [
            [(side * 230, 0), (side * 400, 380), (side * 310, 410), (side * 235, 190)]
            for side in (-1, 1)
        ]
        body = Panel(((zero, -230, 230), (long, -265, 265)))
        return Outline((body,), () if drawing == "waistcoat" else tuple(arms))
    if drawing == "curtains":
        left = Panel(((zero, -600, -30), (long, -600, -30)))
        return Outline((left, Panel(((zero, 30, 600), (long, 30, 600)))))
    shapes: dict[str, tuple[Rung, ...]] = {
        "skirt": ((zero, -180, 180), (long * 3 / 10, -250, 250), (long, -310, 310)),
        "dress": ((zero, -200, 200), (long * 3 / 10, -170, 170), (long, -320, 320)),
        "gown": ((zero, -200, 200), (long * 3 / 10, -165, 165), (long, -560, 560)),
        "sleeve": ((zero, -110, 110), (long, -70, 70)),
    }
    return Outline((Panel(shapes[drawing]),)) if drawing in shapes else None
