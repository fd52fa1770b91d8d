"""Take in or let out, shared over up to eight seams."""

from fractions import Fraction
from typing import Any, ClassVar

from django import forms

from clients.fields import LengthField
from clients.fit.alterations import KEEP, InSteps, Seam, Sharing, in_steps, let_out, take_in
from clients.fit.handbook import PLACES, Advice, cloth_marks, passed
from jobs.pricing.models import Measure
from jobs.tickets.fit.answers import Figure, Shape, Show, SumAnswer, SumDrawing, Word, box, draw
from jobs.tickets.fit.sums.base import SumForm, optional, pin_of
from jobs.tickets.models import Garment
from studio.shop.forms import Chips
from studio.shop.money import exact

STRIP, STEP = 22, 52  # height of a strip and of a row, in units of the drawing
PAST = 5  # how far a stitching line runs out over its strip


def seams_drawing(sharing: Sharing, way: str, show: Show) -> SumDrawing:
    """The garment lies to the left of each stitching line, the allowance to its right.

    Where there is too little, a last row sets what all seams give against what is asked.
    """
    sign = 1 if way == "out" else -1
    plies = [(exact(share.seam.allowance or 0), exact(share.per_ply)) for share in sharing.shares]
    reach = max(max(room, moved) for room, moved in plies) or Fraction(1)
    body = -(max(moved for _, moved in plies) + reach)
    shapes: list[Shape] = []
    words, sentences = [], []
    for row, shown in enumerate(in_steps(sharing, show.step)):
        share = shown.share
        top, bottom = row * STEP, row * STEP + STRIP
        moved, zero = sign * exact(share.per_ply), Fraction(0)
        edge = max(exact(share.seam.allowance or 0), moved, zero)
        shapes.append(box("cloth", body, top, min(moved, zero), bottom))
        if moved > 0:
            shapes.append(box("gain", zero, top, moved, bottom))
        if edge > moved:
            shapes.append(box("keep", moved, top, edge, bottom))
        if share.seam.allowance is not None:
            shapes.append(Shape("end", [(edge, top - 2), (edge, bottom + 2)]))
        shapes += [
            Shape(kind, [(at, top - PAST), (at, bottom + PAST)])
            for kind, at in (("now", zero), ("new", moved))
        ]
        said = f"{share.seam.name}: {per_ply(shown, show)}"
        words.append(Word((body, top), said, "start", PAST + 2))
        sentences.append(said)
    rows = len(sharing.shares)
    if not sharing.possible:
        top, wide = rows * STEP, reach - body
        given = body + wide * sharing.given / exact(sharing.asked)
        shapes += [
            box("gain", body, top, given, top + STRIP),
            box("short", given, top, reach, top + STRIP),
        ]
        in_all = f"in all {show.down(sharing.given)} of {show(sharing.asked)}"
        words.append(Word((body, top), in_all, "start", PAST + 2))
        sentences.append(in_all)
        rows += 1
    direction = "outwards" if way == "out" else "inwards"
    alt = f"The stitching moves {direction} from the dashed line. {'; '.join(sentences)}."
    return draw(shapes, words, alt, height=(rows - 1) * STEP + STRIP + 2 * PAST)


def per_ply(shown: InSteps, show: Show) -> str:
    """``2.2 cm a ply, on 1 of 4 2.3 cm``."""
    words = f"{show(shown.each)} a ply"
    if shown.more:
        words += f", on {shown.more} of {shown.share.seam.plies} {show(shown.each + show.step)}"
    return words


ROWS = 8
SHOWN = 3  # the others wait behind a summary


class SeamRows(forms.Form):
    """Eight rows of fields for seams, numbered from 1."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for row in range(1, ROWS + 1):
            self.fields |= {
                f"name{row}": forms.CharField(label="Seam or dart", max_length=40, required=False),
                f"count{row}": forms.IntegerField(
                    label="How many alike", min_value=1, max_value=8, required=False,
                    widget=forms.NumberInput(attrs={"inputmode": "numeric", "placeholder": "1"}),
                ),
                f"room{row}": optional("Allowance now"),
                f"keep{row}": optional("To be kept"),
                f"before{row}": forms.BooleanField(label="Let out before", required=False),
            }  # fmt: skip

    @property
    def rows(self) -> list[dict[str, forms.BoundField]]:
        parts = ("name", "count", "room", "keep", "before")
        return [{part: self[f"{part}{row}"] for part in parts} for row in range(1, ROWS + 1)]

    @property
    def first_rows(self) -> list[dict[str, forms.BoundField]]:
        return self.rows[:SHOWN]

    @property
    def more_rows(self) -> list[dict[str, forms.BoundField]]:
        return self.rows[SHOWN:]

    @property
    def more_used(self) -> bool:
        return any(field.value() for row in self.more_rows for field in row.values())

    @property
    def used_rows(self) -> list[int]:
        return [row for row in range(1, ROWS + 1) if self._used(row)]

    def _used(self, row: int) -> bool:
        return any(self[f"{part}{row}"].value() for part in ("name", "count", "room"))

    def seams(self) -> list[Seam]:
        """The seams of a valid form."""
        facts = self.cleaned_data
        return [
            Seam(
                facts[f"name{row}"] or f"Seam {row}",
                allowance=facts[f"room{row}"].mm if facts[f"room{row}"] else None,
                keep=facts[f"keep{row}"].mm if facts[f"keep{row}"] else KEEP,
                count=facts[f"count{row}"] or 1,
                let_out_before=facts[f"before{row}"],
            )
            for row in self.used_rows
        ]


BEFORE = Advice("A seam that was let out before may be worn or clipped beside its stitching")


class AlterForm(SumForm, SeamRows):
    kind = "alter"
    answers: ClassVar = frozenset({"waist", "sides", "bodice", "darts", "seam"})
    title = "Take in or let out"
    hint = "Shared over seams and darts; is there enough to let out?"
    blame = "total"

    way = forms.ChoiceField(
        label="Way", choices=[("in", "Take in"), ("out", "Let out")], initial="out",
        widget=Chips({"class": "chips big"}),
    )  # fmt: skip
    total = LengthField(label="By how much, in total", help_text="Round the garment, all seams.")
    place = forms.ChoiceField(label="Where", choices=[*PLACES.items()], initial="other")

    field_order = ["way", "total", "place"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        used = self.used_rows
        if not used:
            self.add_error("name1", "Name at least one seam or dart.")
        for row in used:
            room = f"room{row}"
            if cleaned.get("way") == "out" and not cleaned.get(room) and room not in self.errors:
                self.add_error(room, "Measure the allowance beside the stitching.")
        return cleaned

    def answer(self, garment: Garment) -> SumAnswer:
        facts, seams = self.cleaned_data, self.seams()
        way, total = facts["way"], facts["total"]
        sharing = (let_out if way == "out" else take_in)(total.mm, seams)
        measure = Measure.LET_OUT if way == "out" else Measure.TAKE_OFF
        shared: dict[str, Any] = {
            "cautions": self._cautions(garment, seams),
            "figures": self._figures(sharing),
        }
        shared["drawing"] = seams_drawing(sharing, way, self.show)
        if sharing.possible:
            verb = "can be let out" if way == "out" else "is taken in"
            return SumAnswer(
                f"{self.show(total.mm)} {verb}.",
                self._why(sharing),
                pin=pin_of(measure, self.show, total.mm, total),
                **shared,
            )
        most = self.show.down(sharing.most or 0)
        can = sharing.most and self.show.down(sharing.most) != self.show(0)
        return SumAnswer(
            f"No: {self.show(total.mm)} is wanted, at most {most} can be let out.",
            "Every seam gives all it has beyond what is kept. More would need a gusset or a panel.",
            good=False,
            instead={"total": most} if can else {},
            instead_words=f"Let out {most} instead",
            **shared,
        )

    def _why(self, sharing: Sharing) -> str:
        plies = sum(share.seam.plies for share in sharing.shares)
        shown = in_steps(sharing, self.show.step)
        if sharing.even and {(part.each, part.more) for part in shown} != {(shown[0].each, 0)}:
            return (
                f"The total shared over {plies} plies as evenly as a tape shows it; the last seam"
                " takes the rest."
            )
        if sharing.even:
            each = self.show(shown[0].each)
            return (
                f"{each} on each of {plies} plies: the total shared over both sides of each seam."
            )
        return (
            "Shared evenly as far as each seam has it; what a short seam cannot give comes from the"
            " seams that have more."
        )

    def _figures(self, sharing: Sharing) -> list[Figure]:
        figures = []
        for shown in in_steps(sharing, self.show.step):
            share = shown.share
            times = f" \N{MULTIPLICATION SIGN} {share.seam.count}" if share.seam.count > 1 else ""
            left = ""
            if share.seam.allowance is not None and share.left is not None:
                now = share.seam.allowance
                moved = shown.each if share.left < now else -shown.each
                left = f"; {self.show.rest(now, moved)} stays"
            figures.append((f"{share.seam.name}{times}", f"{per_ply(shown, self.show)}{left}"))
        if sharing.most is not None:
            figures.append(("Most that can be let out", self.show.down(sharing.most)))
        return figures

    def _cautions(self, garment: Garment, seams: list[Seam]) -> list[Advice]:
        way = self.cleaned_data["way"]
        before = way == "out" and any(seam.let_out_before for seam in seams)
        return [
            *cloth_marks(garment.cloth, way),
            *([BEFORE] if before else []),
            *passed(
                "any", self.cleaned_data["place"], way=way, total=self.cleaned_data["total"].mm
            ),
        ]
