"""A hem: from the floor, cut line, turn-up, letting down."""

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any, ClassVar

from django import forms
from django.forms.boundfield import BoundField

from clients.fields import HeelField
from clients.fit import FitError, hems
from clients.fit.handbook import Advice, cloth_marks, length, passed, table
from clients.fit.hems import Hem
from clients.fit.lengths import Length, Mm, Unit
from clients.sheets.known import HEEL, Body
from jobs.pricing.models import Basis, Measure
from jobs.tickets.fit.answers import (
    Figure,
    Pin,
    Shape,
    Show,
    SumAnswer,
    SumDrawing,
    Word,
    box,
    draw,
    millimetres,
)
from jobs.tickets.fit.body import answers, hem_of
from jobs.tickets.fit.cloth_ends import (
    APART,
    PARTS,
    USUALLY,
    WIDTHS,
    known_end,
    no_turn_up,
    parts_of,
    slant_of,
    too_long,
    typed_end,
)
from jobs.tickets.fit.line_hem import Sketch, kept_edge, lining_words, shape_at
from jobs.tickets.fit.sums.base import FOLLOWED, SumForm, layers_field, optional, pin_of
from jobs.tickets.models import Garment, Line
from studio.shop.forms import Chips
from studio.shop.money import exact

WIDE = 100
ABOVE, BELOW = 6, -14  # the two on the right keep clear of each other: the lower is told below


def hem_drawing(hem: Hem, now: Mm, show: Show, lining: Hem | None = None) -> SumDrawing:
    """``now`` is the length before, 0 where it was not measured. No cut is drawn off the cloth."""
    low = hem.slope / 2
    cuts = hem.on_the_cloth and hem.way != "no"
    lines: list[Fraction] = [hem.front, hem.back, *([exact(now)] if now else [])]
    lines += [hem.cut - low, hem.cut + low] if cuts else []
    lines += [lining.front, lining.back] if lining else []
    bottom = max(lines) if hem.cloth is None else hem.cloth
    top = min(lines) - max(max(lines) - min(lines), Fraction(20))
    shapes = [box("cloth", 0, top, WIDE, bottom), Shape("new", [(0, hem.front), (WIDE, hem.back)])]
    if cuts:
        edges = [(0, hem.front), (WIDE, hem.back)], [(WIDE, hem.cut + low), (0, hem.cut - low)]
        shapes.insert(1, Shape("keep", [*edges[0], *edges[1], edges[0][0]]))
        if hem.cut + low < bottom:
            off = [*reversed(edges[1]), (WIDE, bottom), (0, bottom), edges[1][1]]
            shapes.insert(2, Shape("off", off))
    lift = BELOW if lining else ABOVE
    words = [Word((0, hem.front), f"finished {show(hem.finished)}", "start", lift)]
    sentences = [f"finished edge at {show(hem.finished)}"]
    cut_lowest = cuts and exact(now) <= hem.cut + low
    if cuts:
        shapes.insert(1, Shape("cut", [(0, hem.cut - low), (WIDE, hem.cut + low)]))
        lift = BELOW if cut_lowest else ABOVE
        words.append(Word((WIDE, hem.cut + low), f"cut {show(hem.cut)}", "end", lift))
        sentences.append(f"cut line at {show(hem.cut)}")
    if now:
        shapes.append(Shape("now", [(0, exact(now)), (WIDE, exact(now))]))
        lift = ABOVE if cut_lowest else BELOW
        words.append(Word((WIDE, exact(now)), f"now {show(now)}", "end", lift))
        sentences.append(f"the edge now at {show(now)}")
    if lining:
        shapes.append(Shape("new", [(0, lining.front), (WIDE, lining.back)]))
        words.append(Word((0, lining.front), f"lining {show(lining.finished)}", "start"))
        sentences.append(f"the edge of the lining at {show(lining.finished)}")
    if hem.cloth is not None:
        shapes.append(Shape("end", [(WIDE, bottom), (0, bottom)]))
        sentences.append(f"the end of the cloth at {show(hem.cloth)}")
    return draw(shapes, words, f"The lower end of the garment: {', '.join(sentences)}.", height=170)


WEIGHTS = [("", "As usual"), ("sheer", "Sheer"), ("medium", "Medium"), ("heavy", "Heavy")]
TROUSERS = {"trousers", "womens_trousers", "jeans"}
OFF_THE_FLOOR = {"curtains", "sleeve"}
IN_SHOES = {"nape_floor", "hollow_hem"}
SKIRTS = ("skirt", "skirt_flared", "skirt_circle")
EACH = {**dict.fromkeys(TROUSERS, Basis.LEG), "sleeve": Basis.SLEEVE}
LIMITS = {
    "trousers": "trousers_hem", "womens_trousers": "trousers_hem", "jeans": "trousers_hem",
    "sleeve": "sleeve_hem",
    "skirt": "skirt_hem", "skirt_flared": "skirt_hem", "skirt_circle": "skirt_hem",
}  # fmt: skip
UNIFORM = Advice("The turn-up of a uniform is {2 in} at most", "US Army TM 10-227 p. 4-6", "seen")
FACED = Advice("So little is left that a tape or a facing has to be sewn to the edge")
ON_THE_FLOOR = Advice("This ends below the floor: only a train is meant to")
LINING = Advice("Try the iron inside the lining first: many take less heat than the cloth outside")
UNMEASURED = Advice(
    "The cut line is below the edge of now: measure what is turned up before cutting"
)


class HemForm(SumForm):
    kind = "hem"
    unworn = frozenset({"curtains", "cushion"})
    title = "Hem"
    hint = "Finished length from the floor, cut line, turn-up, letting down."
    blame = "above"
    place_field = "garment"
    rare: tuple[str, ...] = (
        "weight", "shoe_top", "turn_up", "shorter", "band", "edge_flat", "above_flat", "faced",
        "slope", "edge", "layers",
    )  # fmt: skip
    rare_words = "Turn-up, lining, original edge, facing, layers"
    answered_by: ClassVar = {
        **{place: {"floor": "inseam", "heel": HEEL} for place in TROUSERS},
        **{place: {"floor": "outseam", "heel": HEEL} for place in SKIRTS},
        # Both in the shoes of the event: no heel comes on top of them.
        **{place: {"finished": "hollow_hem", "floor": "nape_floor"} for place in ("dress", "gown")},
        "sleeve": {"finished": "arm_length"},
    }

    garment = forms.ChoiceField(
        label="Hem of", choices=lambda: [*hems.hem_garments().items()],
        widget=forms.Select(attrs=FOLLOWED),
    )  # fmt: skip
    weight = forms.ChoiceField(
        label="Cloth", choices=WEIGHTS, required=False, widget=Chips, initial=""
    )
    by = optional("Shorten by", "With the length now; or the finished length:")
    finished = optional("Finished length", "Where it is known. Otherwise from the floor:")
    floor = optional("From there to the floor", "Waist or crotch to the floor, without shoes.")
    heel = HeelField(label="Heel height", required=False, zero=True)
    above = optional("Hem above the floor", zero=True)
    shoe_break = forms.ChoiceField(
        label="Break of trousers",
        help_text="Extra cloth below the top of the shoe.",
        choices=lambda: [
            ("none", "From the floor"),
            *((row["key"], row["name"]) for row in table("breaks")),
        ],
        initial="none",
        required=False,
    )
    shoe_top = optional(
        "Shoe top above the floor", "In front, where the hem would touch it. Empty: 3 in (7.6 cm)."
    )
    now = optional("Length now")
    turned_up = optional(
        "Turned up now",
        "All that is folded up behind the edge. A cuff: twice its height and what is inside.",
        zero=True,
    )
    depth = optional("Depth of the new hem", "Empty: as published for this garment.")
    turn_up = optional("Turn-up", "Height of a trouser cuff, if there is one.")
    shorter = optional(PARTS["shorter"], "Where it has one.")
    band = optional(PARTS["band"], "Where that is sewn back.")
    edge_flat = optional(WIDTHS["edge_flat"])
    above_flat = optional(WIDTHS["above_flat"])
    faced = forms.BooleanField(label="With a facing sewn to the edge", required=False)
    slope = optional("Back longer than front", "Trousers: often 1/2 in (1.3 cm).")
    edge = optional("Round the hem", "To learn how long such hems take.")
    layers = layers_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["above_flat"].label = WIDTHS["above_flat"].format(APART[self.unit])

    @property
    def main_fields(self) -> list[BoundField]:
        """What no shoe or floor is asked for leaves out what is empty of them."""
        place = self.place_now
        off = set() if place in TROUSERS else {"shoe_break"}
        off |= {"floor", "heel", "above"} if place in OFF_THE_FLOOR else set()
        return [
            field
            for field in super().main_fields
            if field.name not in off or field.errors or field.value() not in {"", "none", None}
        ]

    @classmethod
    def start(cls, garment: Garment, unit: Unit, /) -> dict[str, Any]:
        known = [key for key in hems.hem_garments() if key in garment.cloth_ends]
        works = " ".join(line.name for line in garment.lines.all())
        usual = hem_of(garment.kind_name, f"{garment.description} {works}")
        line = next((row for row in garment.lines.all() if answers({"hem"}, row)), None)
        if line is None and any(answers({"cuffs"}, row) for row in garment.lines.all()):
            usual = "sleeve"
        sheer = garment.cloth == Garment.ClothKind.SHEER
        place = [*known, usual][0]
        flat = garment.measures.get("piece", {})
        now = next(
            (flat[key] for key in ("inside_leg", "skirt_length", "nape_hem") if key in flat), ""
        )
        known_now = {**({"now": now} if now else {}), **garment.cloth_ends.get(place, {})}
        parts = parts_of(line.name) if line else []
        return {
            **{name: USUALLY[name][unit] for name in parts},
            **(
                {"edge_flat": flat["leg_opening"]}
                if "leg_opening" in flat and "band" in parts
                else {}
            ),
            **known_now,
            **(_agreed(line, known="now" in known_now) if line else {}),
            "garment": place,
            "heel": garment.heel_typed,
            "weight": "sheer" if sheer else "",
        }

    @classmethod
    def filled(cls, start: dict[str, Any], body: Body) -> dict[str, Any]:
        filled = super().filled(start, body)
        if start.get("by"):
            filled.pop("finished", None)
        keys = cls.keys_at(str(filled["garment"]))
        if keys.get("floor") in IN_SHOES and filled.get("floor"):
            filled["heel"] = ""
        return filled

    @classmethod
    def answers_at_once(cls, start: Mapping[str, Any]) -> bool:
        """Nobody has said yet how far above the floor it is to end."""
        return bool(start.get("finished") or start.get("by"))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        by, finished = cleaned.get("by"), cleaned.get("finished")
        if by and finished:
            self.add_error("by", "Write by how much, or the finished length.")
        elif by:
            self._shorten(by, cleaned)
        elif not (finished or cleaned.get("floor") or self.errors):
            self.add_error("finished", "Write the finished length, or the length to the floor.")
        if cleaned.get("band"):
            self._keep_edge(cleaned)
        if cleaned.get("shoe_break") not in {"none", "", None}:
            if cleaned.get("garment") not in TROUSERS:
                self.add_error("shoe_break", "Only trousers break over the shoe.")
            if cleaned.get("above"):
                self.add_error("above", "Write this or a break: a break begins at the shoe top.")
        return cleaned

    def _shorten(self, by: Length, cleaned: dict[str, Any]) -> None:
        now: Length | None = cleaned.get("now")
        if now is None:
            self.add_error("now", "Write how long it is now.")
        elif by.mm >= now.mm:
            self.add_error("by", "It is not as long as that.")

    def _keep_edge(self, cleaned: dict[str, Any]) -> None:
        if not (cleaned.get("now") or "now" in self.errors):
            self.add_error("now", "Write how long it is now: its own edge is sewn back.")
        if any(cleaned.get(name) for name in ("turn_up", "faced", "depth", "slope", "shorter")):
            self.add_error(
                "band", "With the original edge kept nothing is turned up or lined anew."
            )

    @property
    def about_sleeves(self) -> bool:
        return bool(self.cleaned_data["garment"] == "sleeve")

    def lines_answered(self, lines: Iterable[Line], pin: Pin | None) -> list[Line]:
        places = {"cuffs"} if self.about_sleeves else {"hem"}
        return [line for line in lines if pin and answers(places, line)]

    def answer(self, garment: Garment) -> SumAnswer:
        place = self.cleaned_data["garment"]
        self.known = known_end(garment.cloth_ends, place, self.unit, typed_end(self))
        published = hems.depths(self.cleaned_data["garment"], self.cleaned_data["weight"])
        depth = self.mm("depth") or hems.usual_depth(published)
        finished, slope = self._finished(), self.mm("slope")
        if self.mm("band"):
            return self._edge_kept(garment, finished)
        cloth, show = self.known.cloth, self.show
        try:
            hem = hems.hem(
                finished, depth, turn_up=self.mm("turn_up"), slope=slope,
                faced=self.cleaned_data["faced"], cloth=cloth,
            )  # fmt: skip
        except hems.NoTurnUpError:
            hem = hems.hem(finished, depth, slope=slope, cloth=cloth)
            if hem.way != "no":
                return self._no_turn_up(hem, self._shared(garment, hem, published))
        shared = self._shared(garment, hem, published)
        if self._below_floor(hem) and self.cleaned_data["garment"] in TROUSERS:
            return self._on_the_floor(hem, shared)
        if hem.way == "no":
            return self._refused(hem, shared)
        says = f"Finish at {show(hem.finished)}, cut at {show(hem.cut)}."
        if self.cleaned_data["faced"]:
            strip = hems.facing(depth, self.mm("edge") or None)
            long = "" if strip.long is None else f", {show(strip.long)} long"
            shared["figures"].append(("Facing, cut", f"{show(strip.high)} high{long}"))
        elif hem.wanted is not None:
            says += f" All {show.rest(hem.cut, hem.finished)} that is there is turned up."
            if not self.mm("turn_up"):
                shared |= {
                    "instead": {"faced": "on"},
                    "instead_words": f"With a facing, {show(depth)} deep",
                }
        if self.mm("shorter"):
            says += self._lined(hem, shared)
        return SumAnswer(says, self._why(hem), pin=self._pin(hem), **shared)

    def _lined(self, hem: Hem, shared: dict[str, Any]) -> str:
        """What is to be said of the lining; it is drawn, and among the figures."""
        self.blame, show = "shorter", self.show
        lining = hems.lining_hem(hem, self.mm("shorter"))
        shared["figures"] += [
            ("Lining, finished", show(lining.finished)),
            ("Lining, cut", show(lining.cut)),
        ]
        shared["cautions"] += [LINING]
        shared["drawing"] = hem_drawing(hem, self.known.now, show, lining)
        return f" {lining_words(lining, show)}"

    def _edge_kept(self, garment: Garment, finished: Fraction) -> SumAnswer:
        """With the original edge sewn back: the same answer as in the line of the drop-off."""
        self.blame, show, known = "band", self.show, self.known
        kept = hems.edge_kept(
            known.now, finished, self.mm("band"), slant=slant_of(known, self.unit)
        )
        plain = Hem(finished, Fraction(0))
        shape = shape_at(garment.kind_name, sleeve=self.about_sleeves)
        sketch = Sketch.of(shape, known.now, show)
        said = kept_edge(kept, sketch, shape, known, self.body)
        figures = [
            ("Finished", show(finished)),
            ("Take off", show(kept.by)),
            ("Seam at", show(kept.seam)),
        ]
        if kept.slant is not None:
            figures.append(("Leg and edge differ by, round", show(abs(kept.wider))))
        return SumAnswer(
            said.says, said.why, figures=figures, drawing=sketch.of_edge(kept), good=said.good,
            cautions=self._cautions(garment, plain), pin=self._pin(plain),
            instead={} if said.good else dict.fromkeys(("band", *WIDTHS), ""),
            instead_words="" if said.good else "With a plain hem",
            layers=self.cleaned_data["layers"] or 1, cloth_ends=known.as_typed,
        )  # fmt: skip

    def _shared(
        self, garment: Garment, hem: Hem, published: tuple[hems.Depth, ...]
    ) -> dict[str, Any]:
        return {
            "figures": [*self._figures(hem), *self._published(published)],
            "drawing": hem_drawing(hem, self.known.now, self.show),
            "cautions": self._cautions(garment, hem),
            "edge_mm": millimetres(self.mm("edge")) if self.mm("edge") else None,
            "layers": self.cleaned_data["layers"] or 1,
            "cloth_ends": self.known.as_typed,
        }

    def _refused(self, hem: Hem, shared: dict[str, Any]) -> SumAnswer:
        show, longest = self.show, hem.longest or Fraction(0)
        return SumAnswer(
            f"No: {too_long(hem, self.known, show)}",
            f"{show(self.known.turned_up or 0)} is turned up now, and {show(hems.FACED)} of it"
            " has to stay to sew a tape or a facing to.",
            good=False,
            **shared
            | self._instead("finished", show.down(longest), "Finish at {} instead", floor=""),
        )

    def _on_the_floor(self, hem: Hem, shared: dict[str, Any]) -> SumAnswer:
        show = self.show
        floor = self.mm("floor") + self.mm("heel")
        lowest = show.down(floor - hem.slope / 2)
        return SumAnswer(
            f"No: this ends {show(self._below_floor(hem))} below the floor.",
            f"It is {show(floor)} to the floor in these shoes.",
            good=False,
            **shared | self._instead("finished", lowest, "Finish at {} instead"),
        )

    def _no_turn_up(self, hem: Hem, shared: dict[str, Any]) -> SumAnswer:
        show, there = self.show, hem.there or Fraction(0)
        most = hems.highest_turn_up(there)
        instead = self._instead("turn_up", show.down(most), "Turn up {} instead")
        if not most >= exact(hems.LEAST_TURN_UP):
            instead = {"instead": {"turn_up": ""}, "instead_words": "Without a turn-up"}
        return SumAnswer(
            no_turn_up(self.mm("turn_up"), there, show),
            f"Twice its height, and {show(hems.LEAST_INSIDE)} inside at the least.",
            good=False,
            **shared | instead,
        )

    def _instead(self, name: str, amount: str, words: str, **other: str) -> dict[str, Any]:
        return {"instead": {name: amount, **other}, "instead_words": words.format(amount)}

    def _finished(self) -> Fraction:
        if by := self.cleaned_data["by"]:
            return self.mm("now") - exact(by.mm)
        if typed := self.cleaned_data["finished"]:
            return exact(typed.mm)
        finished = hems.finished_length(
            self.mm("floor"), heel=self.mm("heel"), above_floor=self._above(), extra=self._break(),
        )  # fmt: skip
        if finished > 10_000:
            raise FitError("This is longer than ten metres.")
        return finished

    def _above(self) -> Fraction:
        """How far the hem stays above the floor, or where the break begins."""
        if self._row is None:
            return self.mm("above")
        return self.mm("shoe_top", hems.SHOE_TOP)

    @property
    def _row(self) -> dict[str, str] | None:
        """The break that was chosen."""
        chosen = self.cleaned_data["shoe_break"]
        return next((row for row in table("breaks") if row["key"] == chosen), None)

    def _break(self) -> Fraction:
        """The middle of the published range, or its one bound."""
        row = self._row
        bounds = [exact(mm) for name in ("least", "most") if row and (mm := length(row[name]))]
        return sum(bounds, Fraction(0)) / len(bounds) if bounds else Fraction(0)

    def _below_floor(self, hem: Hem) -> Fraction:
        """How far the lowest point would be below the floor; nothing where that is not known."""
        if not self.mm("floor"):
            return Fraction(0)
        return max(Fraction(0), hem.back - self.mm("floor") - self.mm("heel"))

    def _why(self, hem: hems.Hem) -> str:
        show = self.show
        below = f"{show.rest(hem.cut, hem.finished)} goes below the finished edge"
        if turn_up := self.mm("turn_up"):
            inside = show.rest(hem.cut, hem.finished, turn_up, turn_up)
            below += f": twice {show(turn_up)} and {inside} inside"
        if self.cleaned_data["finished"] or self.cleaned_data["by"]:
            return f"{below}."
        place = "above the floor" if self._row is None else "to the shoe top"
        terms = [
            ("+", self.mm("floor"), "to the floor"), ("+", self.mm("heel"), "heel"),
            ("\N{MINUS SIGN}", self._above(), place), ("+", self._break(), "for the break"),
        ]  # fmt: skip
        terms = [term for term in terms if term[1]]
        *others, (sign, _, last) = terms
        before = sum(show.steps(mm) * (1 if plus == "+" else -1) for plus, mm, _ in others)
        rest = abs(show.steps(hem.finished) - before) * show.step
        parts = [f"{plus} {show(mm)} {name}" for plus, mm, name in others]
        parts = [" ".join([*parts, f"{sign} {show(rest)} {last}"])[2:]]
        return f"{' '.join(parts)}; {below}."

    def _figures(self, hem: hems.Hem) -> list[Figure]:
        show, now = self.show, self.known.now
        figures = [("Finished", show(hem.finished))]
        if hem.slope:
            figures += [("Front", show(hem.front)), ("Back", show(hem.back))]
        if hem.on_the_cloth and hem.way != "no":
            figures += [("Below it", show.rest(hem.cut, hem.finished)), ("Cut line", show(hem.cut))]
        if hem.cloth is not None:
            figures.append(("The cloth ends at", show(hem.cloth)))
        if now and now != hem.finished:
            word = "Take off" if now > hem.finished else "Let down"
            longer, shorter = max(now, hem.finished), min(now, hem.finished)
            figures.append((word, show.rest(longer, shorter)))
        return figures

    def _published(self, published: tuple[hems.Depth, ...]) -> list[Figure]:
        return [(f"Published depth: {depth.source}", self._range(depth)) for depth in published]

    def _range(self, depth: hems.Depth) -> str:
        least, most = depth.least, depth.most
        if least == most and least is not None:
            return self.show(least)
        parts = [self.show(bound) for bound in (least, most) if bound is not None]
        if len(parts) == 1:
            return f"{'up to' if least is None else 'from'} {parts[0]}"
        return " to ".join(parts)

    def _cautions(self, garment: Garment, hem: hems.Hem) -> list[Advice]:
        now = self.known.now
        by = hem.finished - now if now else Fraction(0)
        way = "lengthen" if by > 0 else "shorten"
        places = {LIMITS.get(self.cleaned_data["garment"], ""), "any_hem"}
        new = garment.worn == Garment.Worn.NEW and garment.washed != Garment.Washed.YES
        unmeasured = now and hem.cloth is None and hem.cut + hem.slope / 2 > now
        return [
            *([UNMEASURED] if unmeasured else []),
            *([ON_THE_FLOOR] if self._below_floor(hem) else []),
            *([FACED] if hem.way == "faced" else []),
            *(cloth_marks(garment.cloth, "out") if by > 0 else ()),
            *(cloth_marks(garment.cloth, "hem") if new else ()),
            *passed(*places, way=way, total=millimetres(abs(by))),
            *([UNIFORM] if self.mm("turn_up") > hems.UNIFORM_TURN_UP else []),
        ]

    def _pin(self, hem: hems.Hem) -> Pin:
        now = self.known.now
        basis = EACH.get(self.cleaned_data["garment"], Basis.TOTAL)
        measure, amount, typed = Measure.FINISHED, hem.finished, self.cleaned_data["finished"]
        if now and now != hem.finished:
            measure = Measure.TAKE_OFF if now > hem.finished else Measure.LET_OUT
            amount, typed = abs(now - hem.finished), self.cleaned_data["by"]
        return pin_of(measure, self.show, millimetres(amount), typed, basis=basis)


def _agreed(line: Line, *, known: bool) -> dict[str, str]:
    """What the ticket says of the hem; taken off is only reckoned from a ``known`` length."""
    if line.measure == Measure.FINISHED:
        return {"finished": line.amount_typed}
    return {"by": line.amount_typed} if known and line.measure == Measure.TAKE_OFF else {}
