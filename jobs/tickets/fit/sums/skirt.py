"""Cutting a circle skirt from the waist."""

from fractions import Fraction

from django import forms

from clients.fields import LengthField
from clients.fit.skirts import SHARES, circle_skirt
from jobs.tickets.fit.answers import Answer
from jobs.tickets.fit.showing import millimetres
from jobs.tickets.fit.sums.base import SumForm
from jobs.tickets.fit.sums.circle import HANGING, NARROW, share_field
from jobs.tickets.fit.sums.parts import optional
from jobs.tickets.fit.sums.sectors import sector
from jobs.tickets.fit.sums.waist import ALLOWANCE
from jobs.tickets.models import Garment


class SkirtForm(SumForm):
    kind = "skirt"
    title = "Circle skirt"
    hint = "Where to cut the waist and the hem, and how much cloth."
    blame = "waist"

    share = share_field()
    waist = LengthField(label="Finished waist")
    skirt_length = LengthField(label="Finished length")
    seams = forms.IntegerField(
        label="Seams from waist to hem", min_value=0, max_value=16, initial=2,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip
    allowance = optional("Seam allowance", "Empty: 1.5 cm (9/16 in).", zero=True)
    depth = optional("Depth of the hem", "Empty: 1/4 in (6 mm).")
    width = LengthField(label="Width of the cloth")

    def answer(self, garment: Garment) -> Answer:
        facts, show = self.cleaned_data, self.show
        share = Fraction(facts["share"])
        skirt = circle_skirt(
            self.mm("waist"), self.mm("skirt_length"), share,
            seams=facts["seams"], allowance=self.mm("allowance", ALLOWANCE),
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
        return Answer(
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
