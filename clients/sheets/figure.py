"""The figure on which the measures are shown, from the front and from behind.

Our own line drawing, made of points: one half of an upright body eight heads high, mirrored. It
stands for every client, so it has no face, no clothes and little shape. Units are those of
``clients/fit/data/figure.csv``: x from the middle of the body, y downwards from 12 at the crown to
398 at the floor.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import hypot

from clients.fit.measures import BodyMeasure, places

Point = tuple[float, float]

LEFT, TOP, WIDTH, HEIGHT = -106, 2, 212, 402  # the part of the plane that is shown
GAP = 2  # between the end of a thin line and the number
AROUND = 60  # what is shown above and below a tape
TIP, SPREAD = 8.0, 2.8  # how long an arrow is, and half its width

# From the neck over the shoulder, down the arm and round the hand up into the arm fold.
ARM: Sequence[Point] = (
    (8.5, 56), (8.7, 66), (14, 78), (27, 82), (40, 88), (47, 99), (51, 134), (56, 162), (60, 190),
    (63, 218), (65.5, 232), (64, 246), (59.5, 251), (55, 242), (53, 218), (49, 190), (44, 162),
    (36.5, 134), (33.5, 112),
)  # fmt: skip
# From the arm fold down the side, round the foot and up inside the leg.
SIDE: Sequence[Point] = (
    (33.5, 112), (33, 132), (31, 148), (25, 176), (31, 196), (36, 218), (35, 239), (33, 268),
    (28, 308), (28.5, 340), (24.5, 366), (22, 385), (25, 394), (23, 398), (11, 398), (9, 393),
    (10, 385), (11, 366), (11, 340), (11, 308), (7, 272), (4, 239), (0, 230),
)  # fmt: skip
# A few short lines tell front from back.
WITHIN: dict[str, Sequence[Sequence[Point]]] = {
    "front": (((14, 301), (19, 299), (24, 301)),),
    "back": (((12, 98), (19, 113), (15, 125)), ((1.5, 228), (12, 233), (26, 229))),
}
HEAD = (0, 36, 18, 24)  # the middle, half the width and half the height
SEEN = {"front": "Seen from the front", "back": "Seen from behind"}


@dataclass(frozen=True)
class TapeMark:
    """Where one measure is taken: path data, and its number at the end of a thin line."""

    measure: BodyMeasure
    line: str
    lead: str
    x: float
    y: float
    anchor: str
    tips: tuple[str, ...]  # arrows as path data: a girth goes round and has none


@dataclass(frozen=True)
class Figure:
    """One view. ``outline`` is path data, ``alt`` tells it to whoever cannot see it."""

    view: str
    caption: str
    box: str
    head: tuple[int, int, int, int]
    outline: tuple[str, ...]
    marks: tuple[TapeMark, ...]
    alt: str


def figures(keys: Collection[str] | None = None) -> tuple[Figure, ...]:
    """Front and back, with the measures of ``keys``, or every one of the list."""
    return tuple(_figure(view, keys) for view in SEEN)


@dataclass(frozen=True)
class Doll:
    """The figure as cloth: one closed outline, and the tape where something was measured.

    ``laid`` are the tapes to look at, the others thin lines.
    """

    view: str
    box: str
    head: tuple[int, int, int, int]
    body: str
    within: tuple[str, ...]
    lines: tuple[str, ...]
    laid: tuple[str, ...]
    alt: str


def doll(view: str, taken: Collection[str], laid: Collection[str] = ()) -> Doll:
    """Seen from ``view``, with lines for the measures ``taken`` and the tape for those ``laid``."""
    half = [*ARM, *SIDE[1:]]
    body = curve([*half, *mirrored(half)[-2::-1]])
    marks = [mark for mark in _marks(view) if mark.measure.key in {*taken, *laid}]
    names = ", ".join(mark.measure.name.lower() for mark in marks)
    seen = f"A standing figure {SEEN[view].lower()}"
    return Doll(
        view=view,
        box=f"-74 {TOP + 6} 148 {HEIGHT - 8}",
        head=HEAD,
        body=f"{body} Z",
        within=tuple(curve(side) for half in WITHIN[view] for side in (half, mirrored(half))),
        lines=tuple(mark.line for mark in marks if mark.measure.key not in laid),
        laid=tuple(mark.line for mark in marks if mark.measure.key in laid),
        alt=f"{seen}, measured: {names}." if names else f"{seen}.",
    )


def cloth() -> list[Doll]:
    """The figure from both sides, without a tape: drawn once, used for each measure."""
    return [doll(view, ()) for view in ("front", "back")]


@cache
def tape_on(key: str) -> Doll:
    """The part of the figure on which the measure ``key`` is taken, the tape laid there.

    The whole figure without a tape where it has no place.
    """
    seen = (view for view in SEEN if any(place.measure.key == key for place in places(view)))
    view = next(seen, "")
    if not view:
        return doll("front", ())
    whole = doll(view, (), {key})
    across, down = zip(*(corner for line in whole.laid for corner in corners(line)), strict=True)
    left, right = min(-74, min(across) - 8), max(74, max(across) + 8)
    top, bottom = max(TOP, min(down) - AROUND), min(TOP + HEIGHT, max(down) + AROUND)
    return replace(whole, box=f"{left:g} {top:g} {right - left:g} {bottom - top:g}")


def curve(points: Sequence[Point]) -> str:
    """Path data of a smooth line through ``points``, at least two of them.

    A Catmull-Rom spline written as cubic Bézier curves: the controls of the piece from p1 to p2 are
    p1 + (p2 - p0)/6 and p2 - (p3 - p1)/6, with the end points taken twice (Catmull and Rom, 1974).
    """
    padded = [points[0], *points, points[-1]]
    pieces = [f"M {_place(points[0])}"]
    for before, start, end, after in zip(padded, padded[1:], padded[2:], padded[3:], strict=False):
        first = (start[0] + (end[0] - before[0]) / 6, start[1] + (end[1] - before[1]) / 6)
        second = (end[0] - (after[0] - start[0]) / 6, end[1] - (after[1] - start[1]) / 6)
        pieces.append(f"C {_place(first)} {_place(second)} {_place(end)}")
    return " ".join(pieces)


def mirrored(points: Sequence[Point]) -> list[Point]:
    return [(-x, y) for x, y in points]


def _figure(view: str, keys: Collection[str] | None) -> Figure:
    halves = (ARM, SIDE, *WITHIN[view])
    marks = tuple(mark for mark in _marks(view) if keys is None or mark.measure.key in keys)
    names = ", ".join(f"{mark.measure.number} {mark.measure.name.lower()}" for mark in marks)
    return Figure(
        view=view,
        caption=SEEN[view],
        box=f"{LEFT} {TOP} {WIDTH} {HEIGHT}",
        head=HEAD,
        outline=tuple(curve(side) for half in halves for side in (half, mirrored(half))),
        marks=marks,
        alt=f"A standing figure {SEEN[view].lower()}, with a line where each is measured: {names}.",
    )


def _marks(view: str) -> tuple[TapeMark, ...]:
    """In the order of the list. A number stands on the far side of its thin line."""
    marks = []
    for place in places(view):
        x, y = float(place.x), float(place.y)
        outwards = 1 if x > corners(place.lead)[0][0] else -1
        anchor = "start" if outwards > 0 else "end"
        at = x + GAP * outwards
        tips = () if place.measure.kind == "girth" else _tips(place.line)
        marks.append(TapeMark(place.measure, place.line, place.lead, at, y + 5, anchor, tips))
    return tuple(sorted(marks, key=lambda mark: mark.measure.number))


def corners(line: str) -> list[Point]:
    """The points that path data names, controls among them; M, L, Q, H and V with bare numbers."""
    points: list[Point] = []
    words = iter(line.split())
    way = ""
    for word in words:
        if word.isalpha():
            way = word
            continue
        if way == "H":
            points.append((float(word), points[-1][1]))
        elif way == "V":
            points.append((points[-1][0], float(word)))
        else:
            points.append((float(word), float(next(words))))
    return points


def _tips(line: str) -> tuple[str, str]:
    """An arrow at each end of the line, pointing outwards."""
    points = corners(line)
    return _tip(points[0], points[1]), _tip(points[-1], points[-2])


def _tip(end: Point, behind: Point) -> str:
    across, down = end[0] - behind[0], end[1] - behind[1]
    long = hypot(across, down)
    across, down = across / long, down / long
    foot = (end[0] - TIP * across, end[1] - TIP * down)
    left = (foot[0] - SPREAD * down, foot[1] + SPREAD * across)
    right = (foot[0] + SPREAD * down, foot[1] - SPREAD * across)
    return f"M {_place(left)} L {_place(end)} L {_place(right)} Z"


def _place(point: Point) -> str:
    return f"{round(point[0], 2):g} {round(point[1], 2):g}"
