"""A hem: from the floor, cut line, turn-up, letting down."""

from fractions import Fraction
from typing import Any

from django import forms

from clients.fit import FitError, hems
from clients.fit.handbook import Advice, cloth_marks, length, passed, table
from clients.fit.hems import Hem
from clients.fit.lengths import Mm
from jobs.pricing.models import Measure
from jobs.tickets.fit.answers import (
    Drawing,
    Figure,
    Pin,
    Shape,
    Show,
    SumAnswer,
    Word,
    box,
    draw,
    millimetres,
)
from jobs.tickets.fit.sums.base import SumForm, layers_field, optional, pin_of
from jobs.tickets.models import Garment
from studio.shop.forms import Chips
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
    sentences = [f"finished edge at {show(hem.finished)}", f"cut line at {show(hem.cut)}"]
    if now:
        shapes.append(Shape("now", [(0, exact(now)), (WIDE, exact(now))]))
        lift = ABOVE if cut_lowest else BELOW
        words.append(Word((WIDE, exact(now)), f"now {show(now)}", "end", lift))
        sentences.append(f"the edge now at {show(now)}")
    return draw(shapes, words, f"The lower end of the garment: {', '.join(sentences)}.", height=170)


WEIGHTS = [("", "As usual"), ("sheer", "Sheer"), ("medium", "Medium"), ("heavy", "Heavy")]
LIMITS = {
    "trousers": "trousers_hem", "womens_trousers": "trousers_hem", "sleeve": "sleeve_hem",
    "skirt": "skirt_hem", "skirt_flared": "skirt_hem", "skirt_circle": "skirt_hem",
}  # fmt: skip
UNIFORM = Advice("The turn-up of a uniform is {2 in} at most", "US Army TM 10-227 p. 4-6", "seen")
FACED = Advice("So little is left that a tape or a facing has to be sewn to the edge")


class HemForm(SumForm):
    kind = "hem"
    title = "Hem"
    hint = "Finished length from the floor, cut line, turn-up, letting down."
    blame = "above"

    garment = forms.ChoiceField(label="Hem of", choices=lambda: [*hems.hem_garments().items()])
    weight = forms.ChoiceField(
        label="Cloth", choices=WEIGHTS, required=False, widget=Chips, initial=""
    )
    finished = optional("Finished length", "Where it is known. Otherwise from the floor:")
    floor = optional("From there to the floor", "Waist or crotch to the floor, without shoes.")
    heel = optional("Heel height", zero=True)
    above = optional("Hem above the floor", zero=True)
    shoe_break = forms.ChoiceField(
        label="Break of trousers",
        choices=lambda: [(row["key"], row["name"]) for row in table("breaks")],
        initial="none",
        required=False,
    )
    now = optional("Length now")
    turned_up = optional("Turned up now", "How deep the hem is that can be let down.")
    depth = optional("Depth of the new hem", "Empty: as published for this garment.")
    turn_up = optional("Turn-up", "Height of a trouser cuff, if there is one.")
    slope = optional("Back longer than front", "Trousers: often 1/2 in (1.3 cm).")
    edge = optional("Round the hem", "To learn how long such hems take.")
    layers = layers_field()

    @classmethod
    def start(cls, garment: Garment) -> dict[str, Any]:
        kind = garment.kind_name.casefold()
        named = [key for key, name in hems.hem_garments().items() if kind in name.casefold()]
        sheer = garment.cloth == Garment.ClothKind.SHEER
        return {
            "garment": named[0] if named and kind else "dress",
            "heel": garment.heel_typed,
            "weight": "sheer" if sheer else "",
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not (cleaned.get("finished") or cleaned.get("floor") or self.errors):
            self.add_error("finished", "Write the finished length, or the length to the floor.")
        return cleaned

    def answer(self, garment: Garment) -> SumAnswer:
        published = hems.depths(self.cleaned_data["garment"], self.cleaned_data["weight"])
        hem = hems.hem(
            self._finished(),
            self.mm("depth") or hems.usual_depth(published),
            turn_up=self.mm("turn_up"),
            slope=self.mm("slope"),
        )
        now, show = self.mm("now"), self.show
        shared: dict[str, Any] = {
            "figures": [*self._figures(hem), *self._published(published)],
            "drawing": hem_drawing(hem, now, show),
            "cautions": self._cautions(garment, hem),
            "edge_mm": millimetres(self.mm("edge")) if self.mm("edge") else None,
            "layers": self.cleaned_data["layers"],
        }
        if now and hem.finished > now and self.mm("turned_up"):
            down = hems.lengthen(hem.finished - exact(now), self.mm("turned_up"))
            if down.way == "no":
                return self._refused(down, shared)
            if down.way == "faced":
                shared["cautions"] = [FACED, *shared["cautions"]]
        says = f"Finish at {show(hem.finished)}, cut at {show(hem.cut)}."
        return SumAnswer(says, self._why(hem), pin=self._pin(hem), **shared)

    def _refused(self, down: hems.Lengthened, shared: dict[str, Any]) -> SumAnswer:
        most = self.show.down(down.most)
        longest = self.show.down(exact(self.mm("now")) + down.most)
        return SumAnswer(
            f"No: {self.show(down.by)} longer is wanted, at most {most} can be let down.",
            f"{self.show(self.mm('turned_up'))} is turned up now, and {self.show(hems.FACED)} of it"
            " has to stay to sew a tape or a facing to.",
            good=False,
            instead={"finished": longest, "floor": ""},
            instead_words=f"Finish at {longest} instead",
            **shared,
        )

    def _finished(self) -> Fraction:
        if typed := self.cleaned_data["finished"]:
            return exact(typed.mm)
        finished = hems.finished_length(
            self.mm("floor"), heel=self.mm("heel"), above_floor=self.mm("above"),
            extra=self._break(),
        )  # fmt: skip
        if finished > 10_000:
            raise FitError("This is longer than ten metres.")
        return finished

    def _break(self) -> Fraction:
        """The middle of the published range, or its one bound."""
        chosen = self.cleaned_data["shoe_break"]
        row = next((row for row in table("breaks") if row["key"] == chosen), None)
        bounds = [exact(mm) for name in ("least", "most") if row and (mm := length(row[name]))]
        return sum(bounds, Fraction(0)) / len(bounds) if bounds else Fraction(0)

    def _why(self, hem: hems.Hem) -> str:
        show, below = self.show, f"{self.show(hem.allowance)} goes below the finished edge"
        if self.mm("turn_up"):
            below += f": twice {show(self.mm('turn_up'))} and {show(hems.INSIDE)} inside"
        if self.cleaned_data["finished"]:
            return f"{below}."
        parts = [f"{show(self.mm('floor'))} to the floor"]
        parts += [f"+ {show(self.mm('heel'))} heel"] if self.mm("heel") else []
        parts += [f"+ {show(self._break())} for the break"] if self._break() else []
        parts += (
            [f"\N{MINUS SIGN} {show(self.mm('above'))} above the floor"] if self.mm("above") else []
        )
        return f"{' '.join(parts)}; {below}."

    def _figures(self, hem: hems.Hem) -> list[Figure]:
        show, now = self.show, exact(self.mm("now"))
        figures = [("Finished", show(hem.finished))]
        if hem.slope:
            figures += [("Front", show(hem.front)), ("Back", show(hem.back))]
        figures += [("Below it", show(hem.allowance)), ("Cut line", show(hem.cut))]
        if now and now != hem.finished:
            word = "Take off" if now > hem.finished else "Let down"
            figures.append((word, show(abs(now - hem.finished))))
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
        now = exact(self.mm("now"))
        by = hem.finished - now if now else Fraction(0)
        way = "lengthen" if by > 0 else "shorten"
        places = {LIMITS.get(self.cleaned_data["garment"], ""), "any_hem"}
        new = garment.worn == Garment.Worn.NEW and garment.washed != Garment.Washed.YES
        return [
            *(cloth_marks(garment.cloth, "out") if by > 0 else ()),
            *(cloth_marks(garment.cloth, "hem") if new else ()),
            *passed(*places, way=way, total=millimetres(abs(by))),
            *([UNIFORM] if self.mm("turn_up") > hems.UNIFORM_TURN_UP else []),
        ]

    def _pin(self, hem: hems.Hem) -> Pin:
        now = exact(self.mm("now"))
        if now > hem.finished:
            return pin_of(Measure.TAKE_OFF, self.show, millimetres(now - hem.finished))
        if now and now < hem.finished:
            return pin_of(Measure.LET_OUT, self.show, millimetres(hem.finished - now))
        typed = self.cleaned_data["finished"]
        return pin_of(Measure.FINISHED, self.show, millimetres(hem.finished), typed)
