"""Take in or let out, shared over up to eight seams."""

from typing import Any

from django import forms

from clients.fields import LengthField
from clients.fit.alterations import Seam, Sharing, let_out, take_in
from clients.fit.handbook import PLACES, Caution, cloth_marks, passed
from jobs.pricing.models import Measure
from jobs.tickets.fit.answers import Answer, Figure
from jobs.tickets.fit.sums.alter_drawing import seams_drawing
from jobs.tickets.fit.sums.alter_rows import SeamRows
from jobs.tickets.fit.sums.base import SumForm
from jobs.tickets.fit.sums.parts import pin_of
from jobs.tickets.models import Garment
from studio.shop.forms import Chips

BEFORE = Caution("A seam that was let out before may be worn or clipped beside its stitching")


class AlterForm(SumForm, SeamRows):
    kind = "alter"
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
        found = super().clean() or {}
        used = self.used_rows
        if not used:
            self.add_error("name1", "Name at least one seam or dart.")
        for row in used:
            room = f"room{row}"
            if found.get("way") == "out" and not found.get(room) and room not in self.errors:
                self.add_error(room, "Measure the allowance beside the stitching.")
        return found

    def answer(self, garment: Garment) -> Answer:
        facts, seams = self.cleaned_data, self.seams()
        way, total = facts["way"], facts["total"]
        sharing = (let_out if way == "out" else take_in)(total.mm, seams)
        measure = Measure.LET_OUT if way == "out" else Measure.TAKE_OFF
        told: dict[str, Any] = {
            "cautions": self._cautions(garment, seams),
            "figures": self._figures(sharing),
        }
        told["drawing"] = seams_drawing(sharing, way, self.show)
        if sharing.possible:
            verb = "can be let out" if way == "out" else "is taken in"
            return Answer(
                f"{self.show(total.mm)} {verb}.",
                self._why(sharing),
                pin=pin_of(measure, self.show, total.mm, total),
                **told,
            )
        most = self.show.down(sharing.most or 0)
        can = sharing.most and self.show.down(sharing.most) != self.show(0)
        return Answer(
            f"No: {self.show(total.mm)} is wanted, at most {most} can be let out.",
            "Every seam gives all it has beyond what is kept. More would need a gusset or a panel.",
            good=False,
            instead={"total": most} if can else {},
            instead_words=f"Let out {most} instead",
            **told,
        )

    def _why(self, sharing: Sharing) -> str:
        plies = sum(share.seam.plies for share in sharing.shares)
        if sharing.even:
            each = self.show(sharing.shares[0].per_ply)
            return (
                f"{each} on each of {plies} plies: the total shared over both sides of each seam."
            )
        return (
            "Shared evenly as far as each seam has it; what a short seam cannot give comes from the"
            " seams that have more."
        )

    def _figures(self, sharing: Sharing) -> list[Figure]:
        figures = []
        for share in sharing.shares:
            times = f" \N{MULTIPLICATION SIGN} {share.seam.count}" if share.seam.count > 1 else ""
            left = "" if share.left is None else f", {self.show(share.left)} stays"
            figures.append((f"{share.seam.name}{times}", f"{self.show(share.per_ply)} a ply{left}"))
        if sharing.most is not None:
            figures.append(("Most that can be let out", self.show.down(sharing.most)))
        return figures

    def _cautions(self, garment: Garment, seams: list[Seam]) -> list[Caution]:
        way = self.cleaned_data["way"]
        before = way == "out" and any(seam.let_out_before for seam in seams)
        return [
            *cloth_marks(garment.cloth, way),
            *([BEFORE] if before else []),
            *passed(
                "any", self.cleaned_data["place"], way=way, total=self.cleaned_data["total"].mm
            ),
        ]
