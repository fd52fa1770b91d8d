"""The hem of one line where it is agreed: what it comes to, and its garment's outline to scale."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from clients.fit import hems
from clients.fit.lengths import Mm, Unit
from clients.fit.outlines import USUAL, Outline, outline
from clients.sheets.known import Body
from jobs.pricing.models import Measure
from jobs.tickets.fit.answers import (
    HIGHEST,
    MARGIN,
    WIDTH,
    Shape,
    Show,
    SumDrawing,
    Word,
    draw,
)
from jobs.tickets.fit.body import hem_of, measures_about
from jobs.tickets.fit.cloth_ends import KnownEnd, too_long
from jobs.tickets.models import Line
from jobs.tickets.quoting import LineDraft
from studio.shop.look.garments import drawing_of, place_of
from studio.shop.money import exact

FOR_WORDS = 118
"""Units beside the outline that the words of its lines take."""
LINE_OF_WORDS = 15
LENGTHS = frozenset({"inseam", "arm_length", "outseam", "hollow_hem", "nape_floor"})


@dataclass(frozen=True)
class LineHem:
    """``says`` is where to finish and to cut; not ``good`` where the cloth ends before."""

    says: str
    why: str
    drawing: SumDrawing | None
    good: bool = True


def hemmed(kind: str, line: Line | LineDraft) -> str:
    """The outline that this work hems: that of the garment, or ``sleeve``; empty if none."""
    place, drawing = place_of(line.name, line.work_order), drawing_of(kind)
    if place == "cuffs":
        return "sleeve"
    return drawing if place == "hem" and outline(drawing, 1) else ""


def place_of_hem(kind: str, line: Line | LineDraft) -> str:
    """Its row in the table of hem depths."""
    return "sleeve" if hemmed(kind, line) == "sleeve" else hem_of(kind, line.name)


def line_hem(
    kind: str, line: Line | LineDraft, known: KnownEnd, body: Body, unit: Unit
) -> LineHem | None:
    """What the amount of the line comes to; None without an amount, or where nothing is hemmed.

    Where nobody has measured how long it is now, the picture is as long as the client's sheet or
    such a garment usually is, and lengths are told from the edge of now.
    """
    shape = hemmed(kind, line)
    if not shape or line.amount_mm is None or not line.measure:
        return None
    amount, sure = exact(line.amount_mm), bool(known.now)
    if line.measure == Measure.FINISHED:
        now, finished = known.now, amount
    else:
        now = known.now or _length_of(kind, line, body, shape)
        finished = now - amount if line.measure == Measure.TAKE_OFF else now + amount
    if finished <= 0:
        return LineHem("It is not as long as that.", "", None, good=False)
    depth = hems.usual_depth(hems.depths(place_of_hem(kind, line)))
    hem, show = hems.hem(finished, depth, cloth=known.cloth), Show(unit)
    drawn = outline(shape, now or finished)
    if drawn is None:
        return None
    told = sure or line.measure == Measure.FINISHED
    picture = _draw(drawn, hem, now, show, told=told)
    if hem.way == "no":
        return LineHem(f"No: {too_long(hem, known, show)}", "", picture, good=False)
    below = show.rest(hem.cut, hem.finished)
    if told:
        says = f"Finish at {show(hem.finished)}, cut at {show(hem.cut)}."
    else:
        by = hem.cut - now
        side = "above" if by < 0 else "below"
        says = f"Cut {show(abs(by))} {side} the edge of now." if by else "Cut at the edge of now."
    why = f"{below} is turned up" + ("." if hem.wanted is None else ", all that is there.")
    return LineHem(says, why, picture)


def _length_of(kind: str, line: Line | LineDraft, body: Body, shape: str) -> Fraction:
    keys = [key for key in measures_about(kind, line.name, line.work_order) if key in LENGTHS]
    for fact in body.of(keys[:1]):
        return exact(max(length.mm for length in fact.sides.values()))
    return Fraction(USUAL[shape])


def _draw(drawn: Outline, hem: hems.Hem, now: Mm, show: Show, *, told: bool) -> SumDrawing:
    """The outline down to the end of its cloth, with finished edge, cut and edge of now.

    Both ways are to one scale. ``told`` says that the lengths are known.
    """
    cuts, edge = hem.on_the_cloth and hem.way != "no", exact(now)
    marks: list[tuple[str, Fraction, str]] = [("new", hem.finished, "finished")]
    marks += [("cut", hem.cut, "cut")] if cuts else []
    marks += [("now", edge, "now")] if edge else []
    marks += [("end", hem.cloth, "cloth ends")] if hem.cloth is not None else []
    bottom = hem.cloth if hem.cloth is not None else max(down for _, down, _ in marks)
    bottom = max(bottom, Fraction(1))
    shapes = [Shape("cloth", corners) for corners in drawn.others]
    for panel in drawn.panels:
        shapes.append(Shape("cloth", panel.corners(0, bottom)))
        if cuts and hem.cut > hem.finished:
            shapes.append(Shape("keep", panel.corners(hem.finished, hem.cut)))
        if cuts and bottom > hem.cut:
            shapes.append(Shape("off", panel.corners(hem.cut, bottom)))
        shapes += [
            Shape(name, [(panel.span(down)[0], down), (panel.span(down)[1], down)])
            for name, down, _ in marks
        ]
    xs, ys = zip(*(point for shape in shapes for point in shape.points), strict=True)
    left, right, top = min(map(exact, xs)), max(map(exact, xs)), min(map(exact, ys))
    high = max(map(exact, ys)) - top
    scale = min(Fraction(WIDTH - 2 * MARGIN - FOR_WORDS) / (right - left), HIGHEST / high)
    # A line that is not drawn keeps room for the words beside the outline.
    shapes.append(Shape("room", [(left, top), (right + FOR_WORDS / scale, top)]))
    words = [(down, f"{name} {show(down)}" if told else name) for _, down, name in marks]
    alt = f"The garment to scale: {', '.join(text for _, text in words)}."
    return draw(shapes, _apart(words, right, bottom, scale), alt)


def _apart(
    words: Sequence[tuple[Fraction, str]], right: Fraction, bottom: Fraction, scale: Fraction
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
