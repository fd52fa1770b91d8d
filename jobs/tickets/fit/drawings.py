"""Small drawings of a sum, to its own scale. Shapes come in mm and go out as whole units."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import chain

Mm = Decimal | Fraction | int | float
Point = tuple[Mm, Mm]

WIDTH, HIGHEST, MARGIN = 320, 240, 24


@dataclass(frozen=True)
class Shape:
    """A line through points, right and down, as ``kind``: cloth, now, new or cut."""

    kind: str
    points: Sequence[Point]


@dataclass(frozen=True)
class Word:
    """``words`` at a point; ``anchor`` is start, middle or end, ``lift`` units above it."""

    at: Point
    words: str
    anchor: str = "middle"
    lift: int = 6


@dataclass(frozen=True)
class Stroke:
    kind: str
    points: str


@dataclass(frozen=True)
class Label:
    x: int
    y: int
    words: str
    anchor: str


@dataclass(frozen=True)
class Drawing:
    """What the template draws: ``width`` by ``height``, with ``alt`` for whoever cannot see it."""

    width: int
    height: int
    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...]
    alt: str


def draw(
    shapes: Sequence[Shape], words: Iterable[Word], alt: str, *, height: int | None = None
) -> Drawing:
    """Fit the shapes into the width. With ``height`` both ways are scaled on their own."""
    xs, ys = zip(*chain.from_iterable(shape.points for shape in shapes), strict=True)
    left, top = float(min(xs)), float(min(ys))
    wide, high = float(max(xs)) - left or 1.0, float(max(ys)) - top or 1.0
    room = WIDTH - 2 * MARGIN
    across = room / wide if height else min(room / wide, HIGHEST / high)
    down = height / high if height else across
    inset = MARGIN + (room - wide * across) / 2

    def place(point: Point) -> tuple[int, int]:
        x, y = float(point[0]), float(point[1])
        return round(inset + (x - left) * across), round(MARGIN + (y - top) * down)

    return Drawing(
        WIDTH,
        round(high * down) + 2 * MARGIN,
        tuple(Stroke(shape.kind, _points(map(place, shape.points))) for shape in shapes),
        tuple(_label(word, place(word.at)) for word in words),
        alt,
    )


def box(kind: str, left: Mm, top: Mm, right: Mm, bottom: Mm) -> Shape:
    return Shape(kind, [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)])


def _points(places: Iterable[tuple[int, int]]) -> str:
    return " ".join(f"{x},{y}" for x, y in places)


def _label(word: Word, place: tuple[int, int]) -> Label:
    return Label(place[0], place[1] - word.lift, word.words, word.anchor)
