"""A sleeve that gets shorter: from the cuff with its vent or placket, or from the shoulder."""

import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

from django import forms

from clients.fit import FitError
from clients.fit.handbook import Advice
from clients.fit.lengths import Unit
from clients.fit.outlines import outline
from clients.fit.sleeves import SleeveOpening, narrower, placket, vent
from jobs.pricing.models import Basis, Measure
from jobs.tickets.fit.answers import Figure, Pin, Shape, SumAnswer, SumDrawing, draw_beside
from jobs.tickets.fit.body import SLEEVED, answers
from jobs.tickets.fit.sums.base import SumForm, UsualField, optional, pin_of
from jobs.tickets.models import Garment, Line
from studio.shop.forms import Chips

HEAD = Advice("From the shoulder the head of the sleeve is cut anew and set in: a fitting first")
WIDER = Advice("Higher up the sleeve is wider than its cuff: lay the rest into its pleats")
SHAPES = [("", "Plain"), ("vent", "Vent"), ("placket", "Placket, cuff")]


class SleeveForm(SumForm):
    kind = "sleeve"
    title = "Sleeves"
    hint = "How far before a vent or placket is lost; or from the shoulder."
    blame = "by"
    drawings = frozenset(SLEEVED)
    rare: tuple[str, ...] = (
        "buttons",
        "lowest",
        "apart",
        "holes",
        "move",
        "upper",
        "lower",
        "under",
    )
    rare_words = "Buttons, move it, widths"

    now = optional("Length now", "From the sleeve seam at the shoulder to the edge.")
    by = optional("Shorten by")
    way = forms.ChoiceField(
        label="Taken off", choices=[("cuff", "At the cuff"), ("shoulder", "At the shoulder")],
        initial="cuff", widget=Chips(),
    )  # fmt: skip
    opening = forms.ChoiceField(label="Opening", choices=SHAPES, required=False, widget=Chips())
    high = optional("Height of the opening", "From the edge, or the cuff's seam, to its top.")
    buttons = forms.IntegerField(
        label="Buttons at the vent", min_value=0, max_value=12, required=False, initial=0,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip
    lowest = UsualField("Lowest one above the edge", cm="4 cm", inch="1 1/2 in")
    apart = UsualField("From one to the next", cm="1.5 cm", inch="5/8 in")
    holes = forms.BooleanField(label="Their buttonholes are cut", required=False)
    move = forms.BooleanField(label="Move the opening up with the edge", required=False)
    upper = optional("Width at the armhole", "Lying flat, for what is taken off at the shoulder.")
    lower = optional("Width at the edge", "Lying flat.")
    under = optional("Length under the arm")

    @classmethod
    def start(cls, garment: Garment, _unit: Unit, /) -> dict[str, Any]:
        flat = garment.measures.get("piece", {})
        names = {"now": "sleeve_flat", "lower": "cuff_flat"}
        known = {name: flat[key] for name, key in names.items() if key in flat}
        line = next((row for row in garment.lines.all() if _of_sleeves(row)), None)
        if line is None:
            return known
        known["way"] = "shoulder" if _at_shoulder(line) else "cuff"
        if re.search("vent", line.name, re.IGNORECASE):
            known["opening"] = "vent"
        return known | ({"by": line.amount_typed} if line.measure == Measure.TAKE_OFF else {})

    @classmethod
    def answers_at_once(cls, start: Mapping[str, Any]) -> bool:
        return bool(start.get("now") and start.get("by") and "opening" not in start)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for name, says in (("now", "Write how long it is now."), ("by", "Write by how much.")):
            if not (cleaned.get(name) or name in self.errors):
                self.add_error(name, says)
        if cleaned.get("opening") and not cleaned.get("high") and "high" not in self.errors:
            self.add_error("high", "Write how high the opening is.")
        if not self.errors and cleaned["by"].mm >= cleaned["now"].mm:
            self.add_error("by", "It is not as long as that.")
        return cleaned

    def lines_answered(self, lines: Iterable[Line], pin: Pin | None) -> list[Line]:
        above = self.cleaned_data["way"] == "shoulder"
        return [line for line in lines if pin and _of_sleeves(line) and _at_shoulder(line) is above]

    def answer(self, garment: Garment) -> SumAnswer:
        if self.cleaned_data["way"] == "shoulder":
            return self._at_the_shoulder()
        show, by, now = self.show, self.mm("by"), self.mm("now")
        opening = self._opening()
        shared = self._shared(opening)
        if opening is None:
            return SumAnswer(
                f"Finish at {show(now - by)}.", "There is no opening to keep.", **shared
            )
        name = "placket" if self.cleaned_data["opening"] == "placket" else "vent"
        if self.cleaned_data["move"]:
            high = show(opening.high)
            return SumAnswer(
                f"Open the {name} {show(by)} further up, to {high} above the new edge.",
                f"So it stays {high} high.",
                **shared,
            )
        if opening.holds:
            return SumAnswer(
                f"Finish at {show(now - by)}: {show(opening.left)} of the {name} stays.",
                f"At most {show.down(opening.most)} can be taken off before it is lost.",
                **shared,
            )
        instead = {"move": "on"}, f"Move the {name} up"
        if self.cleaned_data["holes"]:
            instead = {"way": "shoulder"}, "From the shoulder"
        return SumAnswer(
            f"No: at most {show.down(opening.most)} before the {name} is lost.",
            f"{show(opening.left)} of it would stay.",
            good=False,
            instead=instead[0], instead_words=instead[1],
            **shared | {"pin": None},
        )  # fmt: skip

    def _opening(self) -> SleeveOpening | None:
        facts = self.cleaned_data
        if not facts["opening"]:
            return None
        if facts["opening"] == "placket":
            return placket(self.mm("high"), self.mm("by"))
        return vent(
            self.mm("high"), self.mm("by"), buttons=facts["buttons"] or 0,
            lowest=self.mm("lowest"), apart=self.mm("apart"), holes_cut=facts["holes"],
        )  # fmt: skip

    def _at_the_shoulder(self) -> SumAnswer:
        show, by, facts = self.show, self.mm("by"), self.cleaned_data
        says = f"Take {show(by)} off the head: {show(self.mm('now') - by)} long."
        why = "Edge, vent and buttons stay as they are."
        shared = self._shared(None)
        if facts["upper"] and facts["lower"] and facts["under"]:
            lacks = narrower(
                by, upper=self.mm("upper"), lower=self.mm("lower"), long=self.mm("under")
            )
            if lacks < 0:
                raise FitError("The sleeve is wider at the edge than at the armhole.")
            says += f" It is {show(lacks)} narrower there."
            why += " Let that out of its seam, or take in the armhole."
            shared["figures"].append(("Narrower all round", show(lacks)))
        return SumAnswer(says, why, **shared | {"cautions": [HEAD]})

    def _shared(self, opening: SleeveOpening | None) -> dict[str, Any]:
        show, by, now = self.show, self.mm("by"), self.mm("now")
        figures: list[Figure] = [("Now", show(now)), ("Finished", show.rest(now, by))]
        if opening:
            figures.append(("Opening now", show(opening.high)))
            figures.append(("Has to stay of it", show.up(opening.least)))
        return {
            "figures": figures,
            "drawing": self._drawing(opening),
            "cautions": [WIDER] if self.cleaned_data["opening"] == "placket" else [],
            "pin": pin_of(
                Measure.TAKE_OFF, show, self.cleaned_data["by"].mm, self.cleaned_data["by"],
                basis=Basis.SLEEVE,
            ),
        }  # fmt: skip

    def _drawing(self, opening: SleeveOpening | None) -> SumDrawing:
        show, by, now = self.show, self.mm("by"), self.mm("now")
        drawn = outline("sleeve", now)
        assert drawn is not None  # noqa: S101 -- a sleeve is drawn
        panel = drawn.panels[0]
        start, end = (
            (Fraction(0), by) if self.cleaned_data["way"] == "shoulder" else (now - by, now)
        )
        edge = end if start == 0 else start
        shapes = [Shape("cloth", panel.corners(0, now)), Shape("off", panel.corners(start, end))]
        shapes.append(Shape("new", [(side, edge) for side in panel.span(edge)]))
        words = [(edge, "new head" if start == 0 else f"finished {show(now - by)}")]
        words.append((now, f"now {show(now)}"))
        if opening:
            at = panel.span(now)[1] / 2
            top = now - opening.high - (by if self.cleaned_data["move"] else 0)
            kind = "new" if self.cleaned_data["move"] else "cut"
            shapes.append(Shape(kind, [(at, max(Fraction(0), top)), (at, now)]))
            words.append((max(Fraction(0), top), "opening"))
        says = ", ".join(text for _, text in sorted(words))
        return draw_beside(shapes, words, now, f"The sleeve to scale: {says}.")


def _of_sleeves(line: Line) -> bool:
    return answers({"cuffs"}, line) or bool(re.search("sleeve", line.name, re.IGNORECASE))


def _at_shoulder(line: Line) -> bool:
    return bool(re.search("shoulder|head", line.name, re.IGNORECASE))
