"""A waistband and the elastic in it."""

from collections.abc import Callable
from decimal import Decimal

from clients.fields import LengthField
from clients.fit.handbook import ANY, Caution, Ease, ease
from clients.fit.skirts import ELASTIC_SHORTER, band, elastic
from jobs.pricing.models import Measure
from jobs.tickets.fit.answers import Answer
from jobs.tickets.fit.drawings import Shape, Word, box, draw
from jobs.tickets.fit.showing import millimetres
from jobs.tickets.fit.sums.base import SumForm
from jobs.tickets.fit.sums.parts import optional, pin_of
from jobs.tickets.models import Garment
from studio.shop.forms import PercentField

OVERLAP, ALLOWANCE = Decimal(30), Decimal(15)  # mm: common practice
EASE = Decimal("15.875")  # 5/8 in, the middle of the first scale for skirts and trousers


class WaistForm(SumForm):
    kind = "waist"
    title = "Waistband, elastic"
    hint = "Finished waist with its ease, band to cut, elastic to cut."
    blame = "shorter"

    waist = LengthField(label="Waist of the body", help_text="Where the garment is worn.")
    ease = optional("Ease", "Empty: 5/8 in (1.6 cm).", zero=True)
    overlap = optional("Overlap", "Empty: 3 cm (1 3/16 in).", zero=True)
    allowance = optional("Seam allowance", "Empty: 1.5 cm (9/16 in).", zero=True)
    shorter = PercentField(label="Elastic shorter by %", most=49, initial=ELASTIC_SHORTER)

    def answer(self, garment: Garment) -> Answer:
        wearing = self.mm("ease", EASE)
        overlap, allowance = self.mm("overlap", OVERLAP), self.mm("allowance", ALLOWANCE)
        waist, show = self.mm("waist"), self.show
        cut = band(waist, ease=wearing, overlap=overlap, allowance=allowance)
        cord = elastic(waist, shorter=self.cleaned_data["shorter"])
        ends = allowance + cut.finished
        high = cut.cut / 10
        shapes = [
            box("cloth", 0, 0, cut.cut, high),
            *(Shape("new", [(at, 0), (at, high)]) for at in (allowance, ends)),
            Shape("cut", [(ends + overlap, 0), (ends + overlap, high)]),
        ]
        words = [Word((cut.cut / 2, high), f"{show(cut.finished)} finished", lift=12)]
        return Answer(
            f"Finished waist {show(cut.finished)}; cut the band {show(cut.cut)} long.",
            f"{show(waist)} and {show(wearing)} of ease; {show(overlap)} overlap and two allowances"
            f" of {show(allowance)} for the band.",
            figures=[
                ("Finished waist", show(cut.finished)),
                ("Band, cut", show(cut.cut)),
                ("Elastic, cut", show(cord)),
            ],
            drawing=draw(
                shapes,
                words,
                f"The band, {show(cut.cut)} long: an allowance, {show(cut.finished)} round the"
                f" waist, {show(overlap)} overlap, an allowance.",
            ),
            cautions=[_scale(row, show) for row in ease("skirt", "waist")],
            pin=pin_of(Measure.FINISHED, show, millimetres(cut.finished)),
        )


def _scale(row: Ease, show: Callable[[Decimal], str]) -> Caution:
    """What one published scale gives; they disagree, so all are told."""
    ends = dict.fromkeys(show(end) for end in (row.low, row.high) if end is not None)
    whose = "any garment" if row.garment == ANY else f"a {row.garment}"
    words = f"Wearing ease at the waist of {whose}: {' to '.join(ends)}"
    return Caution(words, row.source, row.label)
