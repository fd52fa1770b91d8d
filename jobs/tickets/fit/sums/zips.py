"""A zip: how long for its opening, and whether the hip passes."""

from fractions import Fraction
from typing import Any, ClassVar

from django import forms
from django.forms.boundfield import BoundField

from clients.fit.handbook import Advice
from clients.fit.lengths import Unit
from clients.fit.zips import Zip, opening_for, zip_for
from clients.sheets.known import Body
from jobs.tickets.fit.answers import Figure, Shape, SumAnswer, SumDrawing, box, draw_beside
from jobs.tickets.fit.sums.base import FollowedChips, SumForm, UsualField, optional
from jobs.tickets.fit.sums.skirts import FLIES, FLY
from jobs.tickets.models import Garment
from studio.shop.look.garments import drawing_of

ENDS = [("closed", "Closed below"), ("open", "Opens below")]
STOP = Advice("Sew or clamp the new stop before anything is cut off")
METAL = Advice("Of one that opens below, teeth are taken out at the top and the stops set anew")
SOLD = Advice("Which lengths are sold differs: ask for them before the old zip is taken out")


OPENS = frozenset({"jacket", "coat", "waistcoat", "knit"})
"""Garments whose zip opens below: common practice."""


class ZipForm(SumForm):
    kind = "zip"
    unworn = frozenset({"cushion", "bag"})
    title = "Zip"
    hint = "How long for its opening, and whether the hip passes."
    blame = "opening"
    rare: tuple[str, ...] = ("waist", "hip")
    place_field = "ends"
    rare_words = "Does the hip pass?"
    answered_by: ClassVar = {"": {"waist": "waist", "hip": "hip"}}

    opening = optional("Length of the opening", "Finished edge to the end of the slit.")
    above = UsualField("Free above the zip", cm="1 cm", inch="3/8 in", zero=True)
    ends = forms.ChoiceField(label="Zip", choices=ENDS, initial="closed", widget=FollowedChips())
    waist = optional("Round the upper edge", "Closed, where the opening begins.")
    hip = optional("Hip")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.place_now == "open":
            self.rare, self.notes = (), {}

    @property
    def main_fields(self) -> list[BoundField]:
        return [field for field in super().main_fields if field.name not in {"waist", "hip"}]

    @classmethod
    def start(cls, garment: Garment, unit: Unit, /) -> dict[str, Any]:
        """The zip of a fly ends below the band, which a button closes."""
        drawing = drawing_of(garment.kind_name)
        if drawing in OPENS:
            return {"ends": "open"}
        return {"above": FLY[unit]} if drawing in FLIES else {}

    @classmethod
    def filled(cls, start: dict[str, Any], body: Body) -> dict[str, Any]:
        """No hip has to pass what opens to its end."""
        return start if start.get("ends") == "open" else super().filled(start, body)

    @classmethod
    def answers_at_once(cls, start: Any) -> bool:
        return bool(start.get("opening"))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not (cleaned.get("opening") or self._needed(cleaned) or self.errors):
            self.add_error("opening", "Write how long it is, or the upper edge and the hip.")
        return cleaned

    def _needed(self, cleaned: dict[str, Any]) -> Fraction:
        if cleaned.get("ends") == "open":
            return Fraction(0)
        waist, hip = cleaned.get("waist"), cleaned.get("hip")
        return opening_for(waist.mm, hip.mm) if waist and hip else Fraction(0)

    def answer(self, garment: Garment) -> SumAnswer:
        show, facts, needed = self.show, self.cleaned_data, self._needed(self.cleaned_data)
        opening, above = self.mm("opening") or needed, self.mm("above")
        made = zip_for(opening, self.unit, above=above)
        figures: list[Figure] = [("Opening", show(opening)), ("Teeth", show.rest(opening, above))]
        figures += [("The hip needs", show.up(needed))] if needed else []
        shortened = METAL if facts["ends"] == "open" else STOP
        shared: dict[str, Any] = {
            "figures": figures, "drawing": self._drawing(opening, above, made),
            "cautions": [*([shortened] if made.surplus else []), SOLD],
        }  # fmt: skip
        if needed > opening:
            return SumAnswer(
                f"No: the hip needs an opening of {show.up(needed)}.",
                f"{show(opening)} lets pass {show(self.mm('waist') + 2 * opening)} round.",
                good=False, instead={"opening": show.up(needed)},
                instead_words=f"Open it {show.up(needed)}", **shared,
            )  # fmt: skip
        where = "at the top" if facts["ends"] == "open" else "with a new stop"
        shorter = f", shortened to {show(made.long)} {where}" if made.surplus else ""
        return SumAnswer(
            f"A zip of {show(made.sold)}{shorter}.",
            f"{show(opening)} of opening, {show(above)} free above it.", **shared,
        )  # fmt: skip

    def _drawing(self, opening: Fraction, above: Fraction, made: Zip) -> SumDrawing:
        """The opening from its upper edge, with what is too long of the zip below it."""
        show, wide = self.show, max(opening, made.sold + above) / 3
        end = above + made.sold
        shapes = [box("cloth", 0, 0, wide, max(end, opening) * 9 / 8)]
        shapes.append(box("keep", wide * 4 / 9, above, wide * 5 / 9, opening))
        if made.surplus:
            shapes.append(box("off", wide * 4 / 9, opening, wide * 5 / 9, end))
        shapes.append(Shape("new", [(wide / 3, opening), (wide * 2 / 3, opening)]))
        words = [(Fraction(0), "upper edge"), (opening, f"opening {show(opening)}")]
        words += [(end, f"as sold {show(made.sold)}")] if made.surplus else []
        alt = f"To scale: an opening of {show(opening)} and a zip of {show(made.sold)} in it."
        return draw_beside(shapes, words, end, alt)
