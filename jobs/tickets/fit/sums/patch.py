"""A patch over a hole."""

from clients.fields import LengthField
from clients.fit.alterations import BEYOND, patch
from jobs.tickets.fit.answers import Answer
from jobs.tickets.fit.drawings import Word, box, draw
from jobs.tickets.fit.sums.base import SumForm
from jobs.tickets.models import Garment
from studio.shop.money import exact

SOURCE = "US Army TM 10-8400-201-23"


class PatchForm(SumForm):
    kind = "patch"
    title = "Patch"
    hint = "How large to cut it, and whether it may be fused."

    wide = LengthField(label="Hole, wide")
    high = LengthField(label="Hole, high")
    to_seam = LengthField(label="To the nearest seam", zero=True)

    def answer(self, garment: Garment) -> Answer:
        past = exact(BEYOND)
        wide, high, show = self.mm("wide"), self.mm("high"), self.show
        cut = patch(wide, high, to_seam=self.mm("to_seam"))
        size = f"{show(cut.width)} \N{MULTIPLICATION SIGN} {show(cut.height)}"
        shapes = [
            box("cloth", 0, 0, cut.width, cut.height),
            box("cut", past, past, past + wide, past + high),
        ]
        words = [Word((cut.width / 2, cut.height), size)]
        return Answer(
            f"Cut a patch of {size}; {'it may be fused' if cut.fusible else 'it has to be sewn'}.",
            f"{show(BEYOND)} past the hole on every side, and nearer than that to a seam it is sewn"
            f" ({SOURCE}).",
            figures=[("Patch", size), ("Fastened", "fused or sewn" if cut.fusible else "sewn")],
            drawing=draw(shapes, words, f"The hole in the middle of a patch of {size}."),
        )
