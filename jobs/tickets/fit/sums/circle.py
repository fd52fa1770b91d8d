"""The hem of a skirt cut in a circle or a part of one."""

from fractions import Fraction

from django import forms

from clients.fields import LengthField
from clients.fit.handbook import Caution, length
from clients.fit.hems import HANG_HOURS, circle_hem
from clients.fit.skirts import SHARES, radius
from jobs.pricing.models import Measure
from jobs.tickets.fit.answers import Answer
from jobs.tickets.fit.showing import millimetres
from jobs.tickets.fit.sums.base import SumForm
from jobs.tickets.fit.sums.parts import layers_field, optional, pin_of
from jobs.tickets.fit.sums.sectors import sector
from jobs.tickets.models import Garment
from studio.shop.money import exact

NARROW = length("1/4 in") or 0  # the 4-H bulletin's hem of a circle
HANGING = Caution(
    f"Let it hang {HANG_HOURS[0]} to {HANG_HOURS[1]} hours before it is levelled; bias drops",
    "trade page",
    "seen (2nd)",
)
DEEP = Caution("Rather roll it, face it or use horsehair: a circle's hem is {1/4 in} or rolled",
               "4-H bulletin on a cotton school dress", "seen")  # fmt: skip


def share_field(label: str = "Cut as") -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=[*SHARES.items()], initial="1")


class CircleForm(SumForm):
    kind = "circle"
    title = "Circle hem"
    hint = "Hem of a circle skirt: how long, how much to ease in."
    blame = "depth"

    share = share_field()
    waist = LengthField(label="Seam at the waist", help_text="All round, where the skirt begins.")
    skirt_length = LengthField(label="Length now", help_text="Waist seam to the hem.")
    shorten = optional("Shorten by", zero=True)
    depth = optional("Depth of the hem", "Empty: 1/4 in (6 mm).")
    layers = layers_field()

    def answer(self, garment: Garment) -> Answer:
        facts, show = self.cleaned_data, self.show
        share, depth = Fraction(facts["share"]), self.mm("depth", NARROW)
        waist, long, shorten = self.mm("waist"), self.mm("skirt_length"), self.mm("shorten")
        hem = circle_hem(waist, long, share, depth=depth, shorten=shorten)
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
        return Answer(
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
            layers=facts["layers"],
        )
