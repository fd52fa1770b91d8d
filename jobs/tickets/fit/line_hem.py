"""The hem of one line where it is agreed: what it comes to, and its garment's outline to scale."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import cast

from clients.fit import FitError, hems
from clients.fit.alterations import SPREAD
from clients.fit.lengths import Unit
from clients.fit.outlines import USUAL, Corners, Outline, Panel, outline
from clients.sheets.known import Body
from jobs.pricing.models import Measure
from jobs.tickets.fit.answers import (
    Shape,
    Show,
    SumDrawing,
    draw_beside,
)
from jobs.tickets.fit.body import LEGS, hem_of, measures_about
from jobs.tickets.fit.cloth_ends import (
    PARTS,
    KnownEnd,
    no_turn_up,
    part,
    parts_of,
    slant_of,
    too_long,
)
from jobs.tickets.models import Line
from jobs.tickets.quoting import LineDraft
from studio.shop.look.garments import drawing_of, place_of
from studio.shop.money import exact

Span = tuple[Fraction, Fraction]
NONE = Fraction(0)
NOWHERE: Span = (NONE, NONE)
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


def shape_at(kind: str, *, sleeve: bool) -> str:
    """The outline of a garment that has a hem, whatever it is called."""
    drawing = "sleeve" if sleeve else drawing_of(kind)
    return drawing if outline(drawing, 1) else "dress"


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
    told = sure or line.measure == Measure.FINISHED
    sketch = Sketch.of(shape, now, Show(unit), long=finished, told=told)
    parts = {name: part(name, line.name, known, unit) for name in PARTS}
    if "band" in parts_of(line.name):
        try:
            kept = hems.edge_kept(now, finished, parts["band"], slant=slant_of(known, unit))
        except FitError as wrong:
            says = str(wrong) if now else "Write how long it is now: its own edge is sewn back."
            return LineHem(says, "", None, good=False)
        return kept_edge(kept, sketch, shape, known, body)
    depth = hems.usual_depth(hems.depths(place_of_hem(kind, line)))
    return _turned(finished, depth, parts, known, sketch)


FOOT = {"sleeve": ("hand", "hand"), **dict.fromkeys(LEGS, ("foot", "instep"))}
"""What has to pass the edge, and the measure that tells whether it does."""


def kept_edge(
    kept: hems.EdgeKept, sketch: "Sketch", shape: str, known: KnownEnd, body: Body
) -> LineHem:
    """Where to cut and how both pieces come to meet; no, where they are too far apart."""
    show, picture = sketch.show, sketch.of_edge(kept)
    piece = "leg" if shape in LEGS else shape if shape == "sleeve" else "garment"
    much = show(abs(kept.wider))
    round_it = f"its own edge is {much} wider round than the {piece} there"
    if kept.wider > 0:
        round_it = f"there the {piece} is {much} wider round than its own edge"
    if kept.join == "apart":
        most = show(SPREAD)
        says = f"No: {round_it}."
        why = f"Over {most} is not taken in below the knee alone: turn a plain hem, or taper first."
        if piece != "leg":
            why = f"More than {most} is seen where they meet: turn a plain hem."
        return LineHem(says, why, picture, good=False)
    if stuck := _too_narrow(kept, shape, known, body, show):
        return LineHem(f"No: {stuck}", f"Taken in to meet the {piece}.", picture, good=False)
    at = f"at {show(kept.seam)}"
    if not sketch.told:
        at = f"{show(kept.by + kept.band)} above the edge of now"
    if kept.tuck:
        says = f"Fold a tuck, sewn {at}."
        why = f"So little is not cut out: the fold is {show(kept.tuck)} deep."
    else:
        cuts = f"Cut at {show(kept.leg_cut)} and at {show(kept.band_cut)}"
        if not sketch.told:
            above = show(kept.now - kept.leg_cut), show(kept.now - kept.band_cut)
            cuts = f"Cut {' and '.join(above)} above the edge of now"
        says = f"{cuts}: {show.rest(kept.band_cut, kept.leg_cut)} comes out."
        why = f"The seam lies {at}; {show(hems.SEAM)} of each side goes into it."
    seam = show(kept.a_seam)
    meets = {
        "eased": f"{round_it[:1].upper()}{round_it[1:]}: ease it in.",
        "leg": f"Take the {piece} in {seam} at each seam, tapering up: {round_it}.",
        "band": f"Take its own edge in {seam} at each seam: {round_it}.",
        "even": "" if kept.slant is not None else "Where they meet both have to be as wide.",
    }
    return LineHem(says, f"{why} {meets[kept.join]}".strip(), picture)


def _too_narrow(kept: hems.EdgeKept, shape: str, known: KnownEnd, body: Body, show: Show) -> str:
    """Why foot or hand does not pass the edge that is taken in; empty where it does."""
    what, key = FOOT.get(shape, ("", ""))
    fact, at_edge = body.get(key), known.parts.get("edge_flat")
    if kept.join != "band" or fact is None or at_edge is None:
        return ""
    needs = max(length.mm for length in fact.sides.values())
    opening = kept.opening(at_edge)
    if opening >= exact(needs):
        return ""
    return (
        f"the {what} does not pass: {show(opening)} round, the {fact.name.lower()} {show(needs)}."
    )


def _turned(
    finished: Fraction, depth: Fraction, parts: dict[str, Fraction], known: KnownEnd,
    sketch: "Sketch",
) -> LineHem:  # fmt: skip
    show, told, turn_up = sketch.show, sketch.told, parts["turn_up"]
    try:
        hem = hems.hem(finished, depth, turn_up=turn_up, cloth=known.cloth)
    except hems.NoTurnUpError:
        plain = hems.hem(finished, depth, cloth=known.cloth)
        says = no_turn_up(turn_up, plain.there or 0, show)
        return LineHem(says, "", sketch.of_hem(plain, cuts=False), good=False)
    if hem.way == "no":
        says = f"No: {too_long(hem, known, show)}"
        return LineHem(says, "", sketch.of_hem(hem, cuts=False), good=False)
    below = show.rest(hem.cut, hem.finished)
    if told:
        says = f"Finish at {show(hem.finished)}, cut at {show(hem.cut)}."
    else:
        by = hem.cut - sketch.now
        side = "above" if by < 0 else "below"
        says = f"Cut {show(abs(by))} {side} the edge of now." if by else "Cut at the edge of now."
    why = f"{below} is turned up"
    if turn_up:
        inside = show.rest(hem.cut, hem.finished, turn_up, turn_up)
        why += f": twice {show(turn_up)} and {inside} inside"
    why += "." if hem.wanted is None else ", all that is there."
    if not parts["shorter"]:
        return LineHem(says, why, sketch.of_hem(hem, turn_up=turn_up))
    try:
        lining = hems.lining_hem(hem, parts["shorter"])
    except FitError as wrong:
        return LineHem(str(wrong), "", None, good=False)
    says += (
        f" {lining_words(lining, show)}" if told else f" Lining: {show(parts['shorter'])} shorter."
    )
    why += f" The lining turns {show(hems.LINING_HEM)}."
    return LineHem(says, why, sketch.of_hem(hem, turn_up=turn_up, lining=lining))


def lining_words(lining: hems.Hem, show: Show) -> str:
    return f"Lining: finish at {show(lining.finished)}, cut at {show(lining.cut)}."


def _length_of(kind: str, line: Line | LineDraft, body: Body, shape: str) -> Fraction:
    keys = [key for key in measures_about(kind, line.name, line.work_order) if key in LENGTHS]
    for fact in body.of(keys[:1]):
        return exact(max(length.mm for length in fact.sides.values()))
    return Fraction(USUAL[shape])


Mark = tuple[str, Fraction, str]
"""A line across: its kind, how far down, and its word."""


@dataclass(frozen=True)
class Sketch:
    """The outline down to the end of its cloth; both ways are to one scale.

    ``now`` is where its edge is; ``told`` says that the lengths are known.
    """

    drawn: Outline
    now: Fraction
    show: Show
    told: bool

    @classmethod
    def of(
        cls, shape: str, now: Fraction, show: Show, *, long: Fraction = NONE, told: bool = True
    ) -> "Sketch":
        """Of an outline that there is: as long as it is ``now``, else ``long``."""
        return cls(cast("Outline", outline(shape, now or long)), now, show, told)

    def of_hem(
        self, hem: hems.Hem, *, turn_up: Fraction = NONE, lining: hems.Hem | None = None,
        cuts: bool = True,
    ) -> SumDrawing:  # fmt: skip
        """With finished edge, cut and edge of now; the top of a turn-up, the edge of a lining."""
        cuts = cuts and hem.on_the_cloth
        marks: list[Mark] = [("new", hem.finished, "finished")]
        marks += [("new", hem.finished - turn_up, "turn-up")] if turn_up else []
        marks += [("new", lining.finished, "lining")] if lining else []
        marks += [("cut", hem.cut, "cut")] if cuts else []
        marks += [("now", self.now, "now")] if self.now else []
        marks += [("end", hem.cloth, "cloth ends")] if hem.cloth is not None else []
        bottom = hem.cloth if hem.cloth is not None else max(down for _, down, _ in marks)
        bottom = max(bottom, Fraction(1))
        keep, off = (hem.finished, hem.cut), (hem.cut, bottom)
        return self._draw(marks, bottom, *([keep, off] if cuts else []))

    def of_edge(self, kept: hems.EdgeKept) -> SumDrawing:
        """As it is now: the two cuts, what comes out between them, and the hem that is kept."""
        top = kept.now - kept.band
        if kept.tuck:
            marks: list[Mark] = [("new", kept.seam, "fold"), ("new", top, "to here")]
            return self._draw([*marks, ("now", kept.now, "now")], kept.now)
        marks = [("cut", kept.leg_cut, "cut"), ("cut", kept.band_cut, "cut")]
        keep, off = (kept.band_cut, kept.now), (kept.leg_cut, kept.band_cut)
        return self._draw([*marks, ("now", kept.now, "now")], kept.now, keep, off)

    def _draw(
        self, marks: Sequence[Mark], bottom: Fraction, keep: Span = NOWHERE, off: Span = NOWHERE
    ) -> SumDrawing:
        fills = [(name, span) for name, span in (("keep", keep), ("off", off)) if span[0] < span[1]]
        shapes = [Shape("cloth", corners) for corners in self.drawn.others]
        for panel in self.drawn.panels:
            shapes += _parts(panel, (NONE, bottom), marks, fills)
        lens = _Lens.over(shapes, min(down for _, down, _ in marks), bottom)
        texts = [f"{name} {self.show(down)}" if self.told else name for _, down, name in marks]
        at = [down for _, down, _ in marks]
        if lens:
            shapes += lens.shapes(self.drawn.panels[-1], marks, fills)
            at = [lens.down(down) for down in at]
        alt = f"The garment to scale: {', '.join(texts)}."
        return draw_beside(shapes, zip(at, texts, strict=True), bottom, alt)


def _parts(
    panel: Panel, ends: Span, marks: Sequence[Mark], fills: Sequence[tuple[str, Span]],
    left: Fraction | None = None,
) -> list[Shape]:  # fmt: skip
    """The panel between two heights with its lines across; right of ``left`` only, if that is."""

    def cut(points: Corners) -> Corners:
        return points if left is None else [(max(exact(x), left), y) for x, y in points]

    shapes = [Shape("cloth", cut(panel.corners(*ends)))]
    shapes += [Shape(name, cut(panel.corners(*span))) for name, span in fills]
    for name, down, _ in marks:
        start, end = panel.span(down)
        shapes.append(Shape(name, cut([(start, down), (end, down)])))
    return shapes


@dataclass(frozen=True)
class _Lens:
    """The lower end drawn larger, to one scale, to the right of the whole and as high.

    ``span`` is what it shows, ``times`` larger and ``wide`` at its foot; ``top`` and ``right`` are
    those of the whole.
    """

    span: Span
    times: Fraction
    top: Fraction
    right: Fraction
    wide: Fraction

    @classmethod
    def over(cls, shapes: Sequence[Shape], highest: Fraction, bottom: Fraction) -> "_Lens | None":
        """Over all lines from the ``highest``; None where they lie apart anyway."""
        xs = [exact(Fraction(x)) for shape in shapes for x, _ in shape.points]
        top = min(exact(Fraction(y)) for shape in shapes for _, y in shape.points)
        high = max((bottom - highest) * 5 / 4, (bottom - top) / 8)
        times = (bottom - top) / high
        wide = min((max(xs) - min(xs)) * 7 / 10, (bottom - top) * 9 / 20)
        return None if times < 2 else cls((bottom - high, bottom), times, top, max(xs), wide)

    def down(self, at: Fraction) -> Fraction:
        return self.top + (at - self.span[0]) * self.times

    def shapes(
        self, panel: Panel, marks: Sequence[Mark], fills: Sequence[tuple[str, Span]]
    ) -> list[Shape]:
        edge = min(panel.span(down)[1] for down in self.span)
        left = max(edge - self.wide / self.times, *(panel.span(at)[0] for at in self.span))
        start = self.right + self.wide / 4
        above, below = self.span
        ends = [(edge, above), (start, self.top)], [(edge, below), (start, self.down(below))]
        return [
            *(Shape("fold", points) for points in ends),
            *(
                Shape(
                    part.kind,
                    [
                        (
                            start + (exact(Fraction(x)) - left) * self.times,
                            self.down(exact(Fraction(y))),
                        )
                        for x, y in part.points
                    ],
                )
                for part in _parts(panel, self.span, marks, fills, left)
            ),
        ]
