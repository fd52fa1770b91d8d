"""What a fit sum answers: figures, sentences and drawings, as they are shown and kept."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from itertools import chain
from math import hypot
from typing import Any

from clients.fit.handbook import Advice
from clients.fit.lengths import Mm, Unit, show_length, to_mm
from jobs.pricing.models import Basis
from jobs.tickets.models import describe_amount
from studio.shop.money import exact, round_half_up

FINEST = {"cm": Fraction(1), "in": Fraction(254, 160)}  # mm: a millimetre, a sixteenth of an inch


def millimetres(value: Mm) -> Decimal:
    """``value`` mm as the database keeps it, with four decimals."""
    return to_mm(exact(value), "mm")


@dataclass(frozen=True)
class Show:
    """``show(45)`` is ``4.5 cm``; ``down`` and ``up`` never promise more or ask for less."""

    unit: Unit

    def __call__(self, value: Mm) -> str:
        return f"{show_length(millimetres(value), self.unit)} {self.unit}"

    @property
    def step(self) -> Fraction:
        """The finest that is shown, in mm."""
        return FINEST[self.unit]

    def steps(self, value: Mm) -> int:
        return round_half_up(exact(value) / self.step)

    def rest(self, whole: Mm, *parts: Mm) -> str:
        """What is left of ``whole`` as shown after ``parts`` as shown: together they add up."""
        return self((self.steps(whole) - sum(map(self.steps, parts))) * self.step)

    def down(self, value: Mm) -> str:
        return self(exact(value) // FINEST[self.unit] * FINEST[self.unit])

    def up(self, value: Mm) -> str:
        return self(-(-exact(value) // FINEST[self.unit]) * FINEST[self.unit])


Coordinate = Mm | float
Point = tuple[Coordinate, Coordinate]

WIDTH, HIGHEST, MARGIN = 320, 240, 24


NAMES = {
    "gain": "comes free", "keep": "stays inside", "off": "cut off", "short": "missing",
    "new": "new seam or edge", "cut": "cut", "now": "as it is now", "end": "cloth ends",
}  # fmt: skip
"""What lines and surfaces of a drawing are called beside it; cloth needs no name."""


@dataclass(frozen=True)
class Shape:
    """A line through points, right and down, as ``kind``: cloth, or one of ``NAMES``.

    ``end`` is drawn as pinking shears leave it, a zigzag between its two points.
    """

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
class SumDrawing:
    """What the template draws: ``width`` by ``height``, with ``alt`` for whoever cannot see it."""

    width: int
    height: int
    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...]
    alt: str

    @property
    def key(self) -> list[tuple[str, str]]:
        """What is drawn, each with its name."""
        kinds = {stroke.kind for stroke in self.strokes}
        return [(kind, words) for kind, words in NAMES.items() if kind in kinds]


def draw(
    shapes: Sequence[Shape], words: Iterable[Word], alt: str, *, height: int | None = None
) -> SumDrawing:
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

    return SumDrawing(
        WIDTH,
        round(high * down) + 2 * MARGIN,
        tuple(
            Stroke(shape.kind, _points(pinked(*drawn) if shape.kind == "end" else drawn))
            for shape in shapes
            for drawn in [[place(point) for point in shape.points]]
        ),
        tuple(_label(word, place(word.at)) for word in words),
        alt,
    )


def pinked(start: tuple[int, int], end: tuple[int, int]) -> list[tuple[int, int]]:
    """A zigzag from ``start`` to ``end``, about 4 units a tooth and 3 to one side."""
    across, down = end[0] - start[0], end[1] - start[1]
    long = hypot(across, down) or 1.0
    teeth = max(2, round(long / 4))
    out = (3 * down / long, -3 * across / long)
    return [
        (
            round(start[0] + across * tooth / teeth + (out[0] if tooth % 2 else 0)),
            round(start[1] + down * tooth / teeth + (out[1] if tooth % 2 else 0)),
        )
        for tooth in range(teeth + 1)
    ]


def box(
    kind: str, left: Coordinate, top: Coordinate, right: Coordinate, bottom: Coordinate
) -> Shape:
    return Shape(kind, [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)])


def _points(places: Iterable[tuple[int, int]]) -> str:
    return " ".join(f"{x},{y}" for x, y in places)


def _label(word: Word, place: tuple[int, int]) -> Label:
    return Label(place[0], place[1] - word.lift, word.words, word.anchor)


FOR_WORDS = 118
"""Units beside an outline that the words of its lines take."""
LINE_OF_WORDS = 15


def draw_beside(
    shapes: Sequence[Shape], words: Iterable[tuple[Fraction, str]], bottom: Fraction, alt: str
) -> SumDrawing:
    """The shapes to one scale, with the words of how far down on their right."""
    xs, ys = zip(*chain.from_iterable(shape.points for shape in shapes), strict=True)
    left, right, top = min(map(exact, xs)), max(map(exact, xs)), min(map(exact, ys))
    high = max(map(exact, ys)) - top
    scale = min(Fraction(WIDTH - 2 * MARGIN - FOR_WORDS) / (right - left), HIGHEST / high)
    # A line that is not drawn keeps room for the words beside the outline.
    room = Shape("room", [(left, top), (right + FOR_WORDS / scale, top)])
    return draw([*shapes, room], _apart(words, right, bottom, scale), alt)


def _apart(
    words: Iterable[tuple[Fraction, str]], right: Fraction, bottom: Fraction, scale: Fraction
) -> list[Word]:
    """The words beside their lines, none on another."""
    rows: list[Fraction] = []
    ordered = sorted(words)
    for down, _ in ordered:
        rows.append(max(down * scale, rows[-1] + LINE_OF_WORDS) if rows else down * scale)
    # The last stays on the picture, and so pushes up those above it.
    lowest = bottom * scale + MARGIN // 2
    for at in reversed(range(len(rows))):
        rows[at] = min(rows[at], lowest - LINE_OF_WORDS * (len(rows) - 1 - at))
    return [
        Word((right + 6 / scale, down), text, "start", round(down * scale - row) - 4)
        for (down, text), row in zip(ordered, rows, strict=True)
    ]


Figure = tuple[str, str]


@dataclass
class Pin:
    """The amount that a line would be agreed with: ``amount_typed`` names its unit."""

    mm: Decimal
    amount_typed: str
    measure: str
    basis: str = Basis.TOTAL

    @property
    def words(self) -> str:
        return describe_amount(self)


@dataclass(frozen=True)
class SumAnswer:
    """``says`` is the answer, ``why`` one line of reason; not ``good`` is a refusal.

    ``instead`` are the fields that would make a refused sum a possible one, and its words.
    A hem keeps its ``edge_mm`` all round and its ``layers``. ``cloth_ends`` is what the garment
    is to remember of its edges, as ``models.Garment`` does.
    """

    says: str
    why: str
    figures: Sequence[Figure]
    drawing: SumDrawing
    cautions: Sequence[Advice] = ()
    good: bool = True
    instead: dict[str, str] = field(default_factory=dict)
    instead_words: str = ""
    pin: Pin | None = None
    edge_mm: Decimal | None = None
    layers: int | None = None
    cloth_ends: dict[str, dict[str, str]] = field(default_factory=dict)

    def as_data(self, unit: Unit) -> dict[str, Any]:
        """Plain data for ``models.FitSum.answer``."""
        return {
            "says": self.says,
            "why": self.why,
            "good": self.good,
            "figures": [list(figure) for figure in self.figures],
            "cautions": self.caution_sentences(unit),
        }

    def caution_sentences(self, unit: Unit) -> list[str]:
        """The cautions as sentences, each with its source."""
        return [
            f"{caution.words(unit)} ({caution.source or caution.label})."
            for caution in self.cautions
        ]
