"""Cloth of another width, and a patch over a hole."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms

from clients.fields import LengthField
from clients.fit.alterations import BEYOND, patch
from clients.fit.cloth import STEPS, YARD, Asked, ClothNeed, cloth_needed
from clients.fit.handbook import Advice
from clients.fit.lengths import Length, Mm, Unit, show_length
from jobs.tickets.fit.answers import Figure, SumAnswer, SumDrawing, Word, box, draw, millimetres
from jobs.tickets.fit.sums.base import UNWORN, SumForm, optional
from jobs.tickets.models import Garment
from studio.shop.forms import PercentField
from studio.shop.models import Profile
from studio.shop.money import exact

CHART = "fabric-width chart of the US extension services"
WASH = Advice("Shrink the cloth before it is cut", CHART, "seen (2nd)")
EIGHTH = YARD / 8
PRINTS = Advice("Plaids and prints need more", CHART, "seen (2nd)")
FAR = Advice(
    "Where two widths differ as much as these the chart adds {1/4 yd}: tick it where you agree",
    CHART,
    "seen (2nd)",
)
STEP_WORDS = {
    "same": "As the pattern asks",
    "chart": "By the chart",
    "between": "Between two columns",
    "area": "By the area (estimate)",
    "one_way": "One way only",
    "cut_on": "Sleeves cut in one",
    "far_apart": "Widths far apart",
    "repeat": "One repeat",
    "across": "Shrinks across",
    "along": "Shrinks along",
    "rounding": "Rounded up",
}


class ClothField(LengthField):
    """A length of cloth: yards where the studio measures in inches."""

    def for_studio(self, studio: Profile) -> None:
        super().for_studio(studio)
        self.unit = "yd" if self.unit == "in" else "cm"


class ClothForm(SumForm):
    kind = "cloth"
    unworn = UNWORN
    title = "Cloth"
    hint = "How much of another width, with nap, repeat and shrinkage."
    blame = "shrinks"

    amount = ClothField(label="The pattern asks for", help_text="In cm, or yards such as 2 3/4 yd.")
    width = LengthField(label="of a width of")
    other = LengthField(label="Width of the cloth that is there")
    usable = optional("Usable of it", "Without the selvedges, if measured.")
    widest = optional("Widest piece of the pattern")
    one_way = forms.BooleanField(label="Nap, pile or a print that runs one way", required=False)
    cut_on = forms.BooleanField(label="Sleeves cut in one with the body", required=False)
    far_apart = forms.BooleanField(label="A quarter yard as the widths differ much", required=False)
    repeat = optional("One repeat of a large motif")
    shrinks = PercentField(label="Shrinks along, %", most=49, required=False)
    shrinks_across = PercentField(label="Shrinks across, %", most=49, required=False)
    step = forms.ChoiceField(
        label="Rounded up to",
        choices=[("", "1/8 yd or 10 cm, as it is asked"), *((step, step) for step in STEPS)],
        required=False,
    )

    @property
    def sold_in(self) -> Unit:
        """A question asked in yards is answered in yards."""
        asked: Length = self.cleaned_data["amount"]
        by_unit: dict[str, Unit] = {"yd": "yd", "in": "yd", "m": "m"}
        return by_unit.get(asked.unit, "cm")

    @property
    def mark(self) -> Fraction:
        """The finest that an amount is shown in, in mm."""
        return EIGHTH if self.sold_in == "yd" else Fraction(1)

    def answer(self, garment: Garment) -> SumAnswer:
        facts = self.cleaned_data
        need = cloth_needed(
            Asked(
                amount=self.mm("amount"), width=self.mm("width"), other=self.mm("other"),
                usable=self.mm("usable") or None, one_way=facts["one_way"],
                cut_on_sleeves=facts["cut_on"], far_apart=facts["far_apart"],
                repeat=self.mm("repeat"),
                shrinks=facts["shrinks"] or Decimal(0),
                shrinks_across=facts["shrinks_across"] or Decimal(0),
                widest=self.mm("widest") or None,
            ),
            step=facts["step"] or ("1/8 yd" if self.sold_in == "yd" else "10 cm"),
        )  # fmt: skip
        shared: dict[str, Any] = {
            "figures": self._figures(need),
            "drawing": self._drawing(need),
            "cautions": [WASH, PRINTS, *([FAR] if need.apart and not facts["far_apart"] else [])],
        }
        if need.fits is False:
            return SumAnswer(
                f"No: the widest piece, {self.show(self.mm('widest'))}, does not fit across"
                f" {self.show.down(need.usable)}.",
                "It cannot be cut without a seam, whatever the length.",
                good=False,
                **shared,
            )
        return SumAnswer(f"Buy {self._sold(need.total)}.", self._why(need), **shared)

    def _why(self, need: ClothNeed) -> str:
        row = ", the next larger row" if need.larger else ""
        return {
            "same": "The widths are alike, so the length stays as the pattern asks.",
            "chart": f"By the {CHART}{row}.",
            "between": f"Interpolated between two columns of the {CHART}{row}; not published.",
        }.get(
            need.way,
            "Outside the published chart: by the area, an estimate that can be half a yard off.",
        )

    def _sold(self, value: Mm) -> str:
        """Rounded up to what is shown, so that it is never too little."""
        marks = -(-exact(value) // self.mark)
        return f"{show_length(millimetres(marks * self.mark), self.sold_in)} {self.sold_in}"

    def _figures(self, need: ClothNeed) -> list[Figure]:
        """As shown the steps add up to the total: the last takes the rest."""
        total = -(-need.total // self.mark)
        marks = [step.amount // self.mark for step in need.steps[:-1]]
        marks.append(total - sum(marks))
        figures = [
            (STEP_WORDS[step.key], f"{'+ ' if place else ''}{self._sold(count * self.mark)}")
            for place, (step, count) in enumerate(zip(need.steps, marks, strict=True))
        ]
        return [
            *figures,
            ("To buy", self._sold(need.total)),
            ("Width to use", self.show.down(need.usable)),
        ]

    def _drawing(self, need: ClothNeed) -> SumDrawing:
        shapes = [box("cloth", 0, 0, need.total, need.usable)]
        words = [Word((need.total / 2, need.usable), self._sold(need.total), lift=8)]
        alt = f"The cloth: {self._sold(need.total)} long, {self.show.down(need.usable)} to use."
        if widest := self.mm("widest"):
            kind = "new" if need.fits else "cut"
            shapes.append(box(kind, need.total / 20, 0, need.total / 5, widest))
            alt += f" The widest piece takes {self.show(widest)} of it."
        return draw(shapes, words, alt)


SOURCE = "US Army TM 10-8400-201-23"


class PatchForm(SumForm):
    kind = "patch"
    unworn = UNWORN
    title = "Patch"
    hint = "How large to cut it, and whether it may be fused."

    wide = LengthField(label="Hole, wide")
    high = LengthField(label="Hole, high")
    to_seam = LengthField(label="To the nearest seam", zero=True)

    def answer(self, garment: Garment) -> SumAnswer:
        past = exact(BEYOND)
        wide, high, show = self.mm("wide"), self.mm("high"), self.show
        cut = patch(wide, high, to_seam=self.mm("to_seam"))
        size = f"{show(cut.width)} \N{MULTIPLICATION SIGN} {show(cut.height)}"
        shapes = [
            box("cloth", 0, 0, cut.width, cut.height),
            box("cut", past, past, past + wide, past + high),
        ]
        words = [Word((cut.width / 2, cut.height), size)]
        return SumAnswer(
            f"Cut a patch of {size}; {'it may be fused' if cut.fusible else 'it has to be sewn'}.",
            f"{show(BEYOND)} past the hole on every side, and nearer than that to a seam it is sewn"
            f" ({SOURCE}).",
            figures=[("Patch", size), ("Fastened", "fused or sewn" if cut.fusible else "sewn")],
            drawing=draw(shapes, words, f"The hole in the middle of a patch of {size}."),
        )
