"""A flared hem, from the garment lying flat."""

from clients.fields import LengthField
from clients.fit import FitError
from clients.fit.handbook import Caution
from clients.fit.hems import flared
from jobs.tickets.fit.answers import Answer
from jobs.tickets.fit.drawings import Shape, Word, draw
from jobs.tickets.fit.showing import millimetres
from jobs.tickets.fit.sums.base import SumForm
from jobs.tickets.fit.sums.parts import layers_field
from jobs.tickets.models import Garment

EASING = Caution(
    "Ease it with a long machine stitch {1/4 in} from the raw edge: match the seams first, draw the"
    " bobbin thread, shrink with steam",
    "Goodheart-Willcox, Apparel: Design, Textiles & Construction (2012) p. 459",
    "seen",
)


class FlareForm(SumForm):
    kind = "flare"
    title = "Flared hem"
    hint = "How much an A-line has to ease in when it is turned up."
    blame = "above"

    edge = LengthField(label="Width at the finished hem", help_text="Lying flat, seam to seam.")
    depth = LengthField(label="Depth of the hem")
    above = LengthField(
        label="Width above it", help_text="Lying flat, as far above the hem as it is deep."
    )
    layers = layers_field()

    def answer(self, garment: Garment) -> Answer:
        edge, above, depth = self.mm("edge"), self.mm("above"), self.mm("depth")
        if above > edge:
            raise FitError("Above a flared hem it is narrower than at the hem.")
        eased, show = flared(edge, above), self.show
        lean = (eased.edge - eased.above) / 4
        shapes = [
            Shape("cloth", [(lean, 0), (lean + above, 0), (edge, depth), (0, depth), (lean, 0)]),
            Shape("new", [(0, depth), (edge, depth)]),
            Shape("cut", [(lean, 0), (lean + above, 0)]),
        ]
        words = [
            Word((edge / 2, depth), f"hem {show(edge)}"),
            Word((edge / 2, 0), f"turned-up edge comes to {show(above)}"),
        ]
        alt = f"Lying flat: {show(edge)} at the hem, {show(above)} where its upper edge lands."
        return Answer(
            f"{show(eased.excess)} has to be eased in all round.",
            f"The edge is {show(eased.edge)} round, and is turned up against {show(eased.above)}.",
            figures=[
                ("Round the hem", show(eased.edge)),
                ("Round above it", show(eased.above)),
                ("To ease in", show(eased.excess)),
            ],
            drawing=draw(shapes, words, alt, height=120),
            cautions=[EASING] if eased.excess else [],
            edge_mm=millimetres(eased.edge),
            layers=self.cleaned_data["layers"],
        )
