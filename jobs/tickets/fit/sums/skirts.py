"""Skirts cut in circles, hems that flare, and the waistband above them."""

import math
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any, ClassVar

from django import forms
from django.forms.boundfield import BoundField

from clients.fields import LengthField
from clients.fit import FitError
from clients.fit.handbook import ANY, Advice, Ease, ease, length
from clients.fit.hems import HANG_HOURS, circle_hem, flared
from clients.fit.lengths import Mm, Unit
from clients.fit.skirts import ELASTIC_SHORTER, SHARES, band, circle_skirt, elastic, radius
from jobs.pricing.models import Measure
from jobs.tickets.fit.answers import (
    Pin,
    Point,
    Shape,
    SumAnswer,
    SumDrawing,
    Word,
    box,
    draw,
    millimetres,
)
from jobs.tickets.fit.body import LEGS, LONG, hem_of
from jobs.tickets.fit.cloth_ends import known_end, typed_end
from jobs.tickets.fit.sums.base import (
    FollowedChips,
    SumForm,
    UsualField,
    layers_field,
    optional,
    pin_of,
)
from jobs.tickets.models import Garment, Line
from studio.shop.forms import PercentField
from studio.shop.look.garments import drawing_of, place_of
from studio.shop.money import exact

STEPS = 48


def arc(radius: Mm, share: Fraction) -> list[Point]:
    """The arc of at most a whole circle, symmetrical about the line straight down."""
    opening = 2 * math.pi * min(float(share), 1.0)
    angles = [opening * (step / STEPS - 0.5) for step in range(STEPS + 1)]
    return [(float(radius) * math.sin(a), float(radius) * math.cos(a)) for a in angles]


def sector(
    radii: tuple[Mm, Mm], share: Fraction, lines: Sequence[tuple[str, Mm]], words: str, alt: str
) -> SumDrawing:
    """The cloth between two radii, with an arc of its own kind for each further radius."""
    waist, hem = (arc(radius, share) for radius in radii)
    outline = [*waist, *reversed(hem), waist[0]]
    shapes = [Shape("cloth", outline), *(Shape(kind, arc(at, share)) for kind, at in lines)]
    return draw(shapes, [Word((0, float(sum(radii)) / 2), words)], alt)


NARROW = length("1/4 in") or 0  # the 4-H bulletin's hem of a circle
HANGING = Advice(
    f"Let it hang {HANG_HOURS[0]} to {HANG_HOURS[1]} hours before it is levelled; bias drops",
    "trade page",
    "seen (2nd)",
)
DEEP = Advice("Rather roll it, face it or use horsehair: a circle's hem is {1/4 in} or rolled",
               "4-H bulletin on a cotton school dress", "seen")  # fmt: skip


def share_field(label: str = "Cut as") -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=[*SHARES.items()], initial="1")


ROUND = frozenset({"skirt", *LONG, "child", "night", "coat"})
"""What may be cut as a circle; a cape is drawn as a coat."""


class CircleForm(SumForm):
    kind = "circle"
    drawings = ROUND
    answers: ClassVar = frozenset({"hem"})
    title = "Circle hem"
    hint = "Hem of a circle skirt: how long, how much to ease in."
    blame = "depth"

    share = share_field()
    waist = LengthField(label="Seam at the waist", help_text="All round, where the skirt begins.")
    skirt_length = LengthField(label="Length now", help_text="Waist seam to the hem.")
    turned_up = optional("Turned up now", "All that is folded up behind the edge.", zero=True)
    shorten = optional("Shorten by", zero=True)
    depth = optional("Depth of the hem", "Empty: 1/4 in (6 mm).")
    layers = layers_field()

    @classmethod
    def start(cls, garment: Garment, _unit: Unit, /) -> dict[str, Any]:
        known = garment.cloth_ends.get("skirt_circle", {})
        names = {"now": "skirt_length", "turned_up": "turned_up"}
        return {field: known[key] for key, field in names.items() if key in known}

    def answer(self, garment: Garment) -> SumAnswer:
        facts, show = self.cleaned_data, self.show
        share, depth = Fraction(facts["share"]), self.mm("depth", NARROW)
        waist, long, shorten = self.mm("waist"), self.mm("skirt_length"), self.mm("shorten")
        known = known_end(
            garment.cloth_ends, "skirt_circle", self.unit, typed_end(self, now="skirt_length")
        )
        end = known.cloth
        if end is not None and exact(long) - shorten + exact(depth) > end:
            there = end - exact(long) + shorten
            raise FitError(f"{show.down(there)} of cloth is there below the hem, no more.")
        hem = circle_hem(waist, long, share, depth=depth, shorten=shorten, cloth=end)
        inner, finished = radius(waist, share), exact(long) - exact(shorten)
        figures = [
            ("Round the hem", show(hem.edge)),
            ("To ease in", show(hem.excess)),
            ("Finished length", show(finished)),
        ]
        lines = [("new", inner + finished), ("now", inner + finished - exact(depth))]
        alt = (
            f"{SHARES[facts['share']]}: the waist at {show(inner)} from the middle, the finished"
            f" hem at {show(inner + finished)}."
        )
        return SumAnswer(
            f"The hem is {show(hem.edge)} round; {show(hem.excess)} has to be eased in.",
            f"Turned up by {show(depth)}, the edge lies against an arc that much nearer the middle:"
            " the angle times the depth.",
            figures=figures,
            drawing=sector((inner, inner + exact(long)), share, lines, show(finished), alt),
            cautions=[HANGING, *([DEEP] if depth > NARROW else [])],
            pin=pin_of(Measure.TAKE_OFF, show, millimetres(shorten), facts["shorten"])
            if shorten
            else None,
            edge_mm=millimetres(hem.edge),
            layers=facts["layers"] or 1,
            cloth_ends=known.as_typed,
        )


EASING = Advice(
    "Ease it with a long machine stitch {1/4 in} from the raw edge: match the seams first, draw the"
    " bobbin thread, shrink with steam",
    "Goodheart-Willcox, Apparel: Design, Textiles & Construction (2012) p. 459",
    "seen",
)


class FlareForm(SumForm):
    kind = "flare"
    title = "Flared hem"
    hint = "How much an A-line has to ease in when it is turned up."
    blame = "above"

    edge = LengthField(label="Width at the finished hem", help_text="Lying flat, seam to seam.")
    depth = LengthField(label="Depth of the hem")
    above = LengthField(
        label="Width above it", help_text="Lying flat, as far above the hem as it is deep."
    )
    there = optional(
        "Cloth below the finished hem", "Length now and all turned up, less the finished length."
    )
    layers = layers_field()

    def answer(self, garment: Garment) -> SumAnswer:
        edge, above, depth = self.mm("edge"), self.mm("above"), self.mm("depth")
        if above > edge:
            raise FitError("Above a flared hem it is narrower than at the hem.")
        eased, show = flared(edge, above), self.show
        if self.cleaned_data["there"] and depth > self.mm("there"):
            raise FitError(f"{show.down(self.mm('there'))} of cloth is there below it, no more.")
        excess = show.rest(eased.edge, eased.above)
        lean = (eased.edge - eased.above) / 4
        shapes = [
            Shape("cloth", [(lean, 0), (lean + above, 0), (edge, depth), (0, depth), (lean, 0)]),
            Shape("new", [(0, depth), (edge, depth)]),
            Shape("cut", [(lean, 0), (lean + above, 0)]),
        ]
        words = [
            Word((edge / 2, depth), f"hem {show(edge)}"),
            Word((edge / 2, 0), f"turned-up edge comes to {show(above)}"),
        ]
        alt = f"Lying flat: {show(edge)} at the hem, {show(above)} where its upper edge lands."
        return SumAnswer(
            f"{excess} has to be eased in all round.",
            f"The edge is {show(eased.edge)} round, and is turned up against {show(eased.above)}.",
            figures=[
                ("Round the hem", show(eased.edge)),
                ("Round above it", show(eased.above)),
                ("To ease in", excess),
            ],
            drawing=draw(shapes, words, alt, height=120),
            cautions=[EASING] if eased.excess else [],
            edge_mm=millimetres(eased.edge),
            layers=self.cleaned_data["layers"] or 1,
        )


JOIN = {
    "cm": Decimal(20),
    "in": Decimal("19.05"),
}  # overlap of elastic, 2 cm or 3/4 in: common practice


def overlap_field() -> UsualField:
    return UsualField("Overlap", cm="3 cm", inch="1 1/4 in", zero=True)  # common practice


def allowance_field() -> UsualField:
    return UsualField("Seam allowance", cm="1.5 cm", inch="5/8 in", zero=True)  # common practice


FLIES = frozenset({"trousers", "jeans", "shorts"})
FLY: dict[Unit, str] = {"cm": "4 cm", "in": "1 1/2 in"}
"""The band reaches over the fly's own width, and is about as high: common practice."""
PULLED_ON = frozenset({"night", "child"})
WAISTED = frozenset({*LEGS, *LONG, "skirt", "protective"})
PASSES = Advice("What is pulled on has to open over the hip: try the casing without its elastic")


def of_elastic(line: Line) -> bool:
    return "elastic" in line.name.casefold()


def scales_of(garment: Garment) -> list[Ease]:
    """The published scales of ease at its waist: those of such a garment, men's only for men."""
    drawing, works = drawing_of(garment.kind_name), (line.name for line in garment.lines.all())
    worn = "dress" if drawing in LONG else "trousers" if drawing in LEGS else "skirt"
    said = " ".join((garment.description, *works))
    men = drawing in LEGS and hem_of(garment.kind_name, said) == "trousers"
    rows = [
        row for row in ease(worn, "waist") if (row.case == "men's") is men or row.case != "men's"
    ]
    return sorted(rows, key=lambda row: (row.garment == ANY, (row.case == "men's") is not men))


class WaistForm(SumForm):
    kind = "waist"
    answers: ClassVar = frozenset({"waist"})
    drawings = WAISTED
    title = "Waistband, elastic"
    hint = "Finished waist with its ease, band to cut, elastic to cut."
    blame = "shorter"
    rare: tuple[str, ...] = ("overlap", "allowance")
    rare_words = "Overlap, seams"
    place_field = "way"
    answered_by: ClassVar = {"": {"waist": "waist"}}

    way = forms.ChoiceField(
        label="What is cut", choices=[("band", "Waistband"), ("elastic", "Elastic")],
        initial="band", required=False, widget=FollowedChips(),
    )  # fmt: skip
    waist = LengthField(label="Waist of the body", help_text="Where the garment is worn.")
    ease = optional("Ease", "Of a band. Empty: as published for such a garment.", zero=True)
    overlap = overlap_field()
    allowance = allowance_field()
    shorter = PercentField(
        label="Elastic shorter by %", most=49, initial=ELASTIC_SHORTER, required=False
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.place_now == "elastic":
            self.rare = ()

    @property
    def main_fields(self) -> list[BoundField]:
        """Only what is asked of a band, or of elastic."""
        off = {"ease", "overlap", "allowance"} if self.place_now == "elastic" else {"shorter"}
        return [field for field in super().main_fields if field.name not in off or field.errors]

    @classmethod
    def start(cls, garment: Garment, unit: Unit, /) -> dict[str, Any]:
        drawing = drawing_of(garment.kind_name)
        if drawing in PULLED_ON or any(of_elastic(line) for line in garment.lines.all()):
            return {"way": "elastic"}
        return {"way": "band", **({"overlap": FLY[unit]} if drawing in FLIES else {})}

    def lines_answered(self, lines: Iterable[Line], pin: Pin | None) -> list[Line]:
        wanted = self.cleaned_data["way"] == "elastic"
        return [
            line
            for line in super().lines_answered(lines, pin)
            if of_elastic(line) is wanted or not place_of(line.name)
        ]

    def answer(self, garment: Garment) -> SumAnswer:
        if self.cleaned_data["way"] == "elastic":
            return self._elastic()
        scales = scales_of(garment)
        usual = [exact(end) for end in (scales[0].low, scales[0].high) if end is not None]
        wearing = (
            self.mm("ease") if self.cleaned_data["ease"] else sum(usual, Fraction(0)) / len(usual)
        )
        overlap, allowance = self.mm("overlap"), self.mm("allowance")
        waist, show = self.mm("waist"), self.show
        cut = band(waist, ease=wearing, overlap=overlap, allowance=allowance)
        ends = allowance + cut.finished
        high = cut.cut / 10
        shapes = [
            box("cloth", 0, 0, cut.cut, high),
            *(Shape("new", [(at, 0), (at, high)]) for at in (allowance, ends)),
            Shape("cut", [(ends + overlap, 0), (ends + overlap, high)]),
        ]
        words = [Word((cut.cut / 2, high), f"{show(cut.finished)} finished", lift=12)]
        figures = [("Finished waist", show(cut.finished)), ("Band, cut", show(cut.cut))]
        if scales[0].case == "men's":
            figures.append(("Or with a seam behind", " and ".join(map(show, cut.halves))))
        return SumAnswer(
            f"Finished waist {show(cut.finished)}; cut the band {show(cut.cut)} long.",
            f"{show(waist)} and {show.rest(cut.finished, waist)} of ease;"
            f" {show.rest(cut.cut, cut.finished, allowance, allowance)} overlap and two allowances"
            f" of {show(allowance)} for the band.",
            figures=figures,
            drawing=draw(
                shapes,
                words,
                f"The band, {show(cut.cut)} long: an allowance, {show(cut.finished)} round the"
                f" waist, {show(overlap)} overlap, an allowance.",
            ),
            cautions=[_scale(row, show) for row in scales],
            pin=pin_of(Measure.FINISHED, show, millimetres(cut.finished)),
        )

    def _elastic(self) -> SumAnswer:
        """What is kept as finished is how far round it sits."""
        show, waist, join = self.show, self.mm("waist"), exact(JOIN[self.unit])
        typed = self.cleaned_data["shorter"]
        shorter = ELASTIC_SHORTER if typed is None else typed
        cord = elastic(waist, shorter=shorter, join=JOIN[self.unit])
        sits = cord - join
        shapes = [box("cloth", 0, 0, cord, cord / 16), box("keep", sits, 0, cord, cord / 16)]
        words = [Word((sits / 2, cord / 16), f"{show(sits)} round", lift=8)]
        over = show.rest(cord, sits)
        return SumAnswer(
            f"Cut the elastic {show(cord)} long.",
            f"It sits at {show(sits)}, {show.rest(waist, sits)} less than the waist; {over} of its"
            " ends lie over each other.",
            figures=[("Elastic, cut", show(cord)), ("Finished waist", show(sits))],
            drawing=draw(
                shapes, words, f"The elastic, {show(cord)} long: {show(sits)} round, {over} over."
            ),
            cautions=[PASSES],
            pin=pin_of(Measure.FINISHED, show, millimetres(sits)),
        )


def _scale(row: Ease, show: Callable[[Decimal], str]) -> Advice:
    """What one published scale gives; they disagree, so all are told."""
    ends = dict.fromkeys(show(end) for end in (row.low, row.high) if end is not None)
    whose = {ANY: "any garment", "trousers": "trousers"}.get(row.garment, f"a {row.garment}")
    whose += f", {row.case}" if row.case else ""
    words = f"Wearing ease at the waist of {whose}: {' to '.join(ends)}"
    return Advice(words, row.source, row.label)


class SkirtForm(SumForm):
    kind = "skirt"
    drawings = ROUND
    title = "Circle skirt"
    hint = "Where to cut the waist and the hem, and how much cloth."
    blame = "waist"
    answered_by: ClassVar = {"": {"waist": "waist"}}

    share = share_field()
    waist = LengthField(label="Finished waist")
    skirt_length = LengthField(label="Finished length")
    seams = forms.IntegerField(
        label="Seams from waist to hem", min_value=0, max_value=16, initial=2,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip
    allowance = allowance_field()
    depth = optional("Depth of the hem", "Empty: 1/4 in (6 mm).")
    width = LengthField(label="Width of the cloth")

    def answer(self, garment: Garment) -> SumAnswer:
        facts, show = self.cleaned_data, self.show
        share = Fraction(facts["share"])
        skirt = circle_skirt(
            self.mm("waist"), self.mm("skirt_length"), share,
            seams=facts["seams"], allowance=self.mm("allowance"),
            hem_depth=self.mm("depth", NARROW), width=self.mm("width"),
        )  # fmt: skip
        figures = [
            ("Waist, cut at a radius of", show(skirt.waist_radius)),
            ("Waist, stitched at", show(skirt.stitching_radius)),
            ("Hem, cut at a radius of", show(skirt.hem_radius)),
            ("Round the finished hem", show(skirt.hem)),
        ]
        if skirt.cloth is None:
            cloth = f"No: {show(self.mm('width'))} is too narrow for a quarter of it."
        else:
            figures.append(("Cloth", f"{show.up(skirt.cloth)}, {skirt.across} side by side"))
            cloth = f"It takes {show.up(skirt.cloth)} of cloth."
        alt = (
            f"{SHARES[facts['share']]}: cut the waist {show(skirt.waist_radius)} and the hem"
            f" {show(skirt.hem_radius)} from the middle; stitch the waist at"
            f" {show(skirt.stitching_radius)}."
        )
        lines = [("new", skirt.stitching_radius)]
        return SumAnswer(
            f"Cut the waist at {show(skirt.waist_radius)} and the hem at {show(skirt.hem_radius)}"
            f" from the middle. {cloth}",
            "Allowances of the seams are added to the waist before its radius is taken; quarters"
            " lie in squares on the cloth.",
            figures=figures,
            drawing=sector(
                (skirt.waist_radius, skirt.hem_radius), share, lines, show(skirt.hem_radius), alt
            ),
            cautions=[HANGING],
            good=skirt.cloth is not None,
            edge_mm=millimetres(skirt.hem),
            layers=1,
        )
