"""Tapering trouser legs."""

from typing import Any, ClassVar

from clients.fields import LengthField
from clients.fit.alterations import LegPlace, Taper, taper
from clients.fit.handbook import Advice
from clients.fit.lengths import Unit
from jobs.pricing.models import Basis, Measure
from jobs.tickets.fit.answers import (
    Figure,
    Point,
    Shape,
    Show,
    SumAnswer,
    SumDrawing,
    Word,
    draw,
    millimetres,
)
from jobs.tickets.fit.body import LEGS
from jobs.tickets.fit.sums.base import SumForm, optional, pin_of
from jobs.tickets.models import Garment
from studio.shop.money import exact

BOTH = Advice("Take the same from both seams below the knee, or the crease turns", "trade page",
               "seen (2nd)")  # fmt: skip
SPREAD = Advice("Over {3 cm} is spread above and below the knee: begin above it", "trade page",
                 "seen (2nd)")  # fmt: skip
FOOT = Advice("Measure the instep round the heel: the foot has to pass",
               "New Mexico State University C-209", "seen")  # fmt: skip


def seams(place: LegPlace, show: Show) -> tuple[str, str]:
    """What comes off at the inner and at the outer seam: together what the widths as shown lose."""
    steps = show.steps(place.now) - show.steps(place.then)
    inner = steps // 2
    return show(inner * show.step), show((steps - inner) * show.step)


def a_seam(place: LegPlace, show: Show) -> str:
    inner, outer = seams(place, show)
    return f"{inner} a seam" if inner == outer else f"{inner} at the inner, {outer} at the outer"


class LegsForm(SumForm):
    kind = "legs"
    answers: ClassVar = frozenset({"legs"})
    drawings = frozenset({*LEGS, "protective"})
    title = "Taper legs"
    hint = "New widths at knee and hem, the same from both seams."
    blame = "new_hem"
    answered_by: ClassVar = {"": {"instep": "instep"}}
    of_the_larger: ClassVar = frozenset({"instep"})

    knee = LengthField(label="Knee width now", help_text="The leg lying flat.")
    hem = LengthField(label="Hem width now", help_text="The leg lying flat.")
    new_hem = LengthField(label="New hem width", help_text="Lying flat.")
    new_knee = optional("New knee width", "Empty: it stays.")
    down = LengthField(label="Knee to hem")
    instep = optional("Instep", "Round heel and instep.")

    @classmethod
    def start(cls, garment: Garment, _unit: Unit, /) -> dict[str, Any]:
        flat = garment.measures.get("piece", {})
        known = {"knee": flat.get("knee_flat"), "hem": flat.get("leg_opening")}
        return {name: typed for name, typed in known.items() if typed}

    def answer(self, garment: Garment) -> SumAnswer:
        leg = taper(
            knee=self.mm("knee"),
            hem=self.mm("hem"),
            new_knee=self.mm("new_knee") or self.mm("knee"),
            new_hem=self.mm("new_hem"),
            knee_to_hem=self.mm("down"),
        )
        instep, show = self.mm("instep"), self.show
        shared: dict[str, Any] = {
            "figures": self._figures(leg),
            "drawing": self._drawing(leg),
            "cautions": [
                BOTH,
                *([SPREAD] if leg.needs_spreading else []),
                *([] if instep else [FOOT]),
            ],
        }
        if instep and not leg.passes(instep):
            least = show.up(exact(instep) / 2)
            return SumAnswer(
                f"No: the foot does not pass. The hem has to be {least} wide or wider, lying flat.",
                f"The new hem is {show(leg.opening)} round, the instep {show(instep)}; less only"
                " with a zip or a slit.",
                good=False,
                instead={"new_hem": least} if exact(instep) / 2 <= leg.hem.now else {},
                instead_words=f"Make it {least} instead",
                **shared,
            )
        inner, outer = seams(leg.hem, show)
        says = f"At the hem {inner} comes off at each seam."
        if inner != outer:
            says = f"At the hem {inner} comes off at the inner seam, {outer} at the outer."
        return SumAnswer(
            says,
            f"{show(leg.hem.now)} to {show(leg.hem.then)} flat, half of it at the inner and half at"
            " the outer seam.",
            pin=pin_of(Measure.FINISHED, show, millimetres(leg.opening), basis=Basis.LEG),
            **shared,
        )

    def _figures(self, leg: Taper) -> list[Figure]:
        show = self.show
        rows = [
            (
                f"{place.name}, {show(place.below_knee)} below the knee"
                if place.below_knee
                else place.name,
                f"{show(place.now)} to {show(place.then)}, {a_seam(place, show)}",
            )
            for place in leg.places
        ]
        return [*rows, ("Round the new hem", show(leg.opening))]

    def _drawing(self, leg: Taper) -> SumDrawing:
        show, middle = self.show, max(leg.knee.now, leg.hem.now) / 2

        def side(sign: int, width: str) -> list[Point]:
            return [
                (middle + sign * getattr(place, width) / 2, place.below_knee)
                for place in leg.places
            ]

        left, right = side(-1, "now"), side(1, "now")
        shapes = [
            Shape("cloth", [*left, *reversed(right), left[0]]),
            Shape("off", [*left, *reversed(side(-1, "then")), left[0]]),
            Shape("off", [*right, *reversed(side(1, "then")), right[0]]),
            Shape("new", side(-1, "then")),
            Shape("new", side(1, "then")),
        ]
        words = [
            Word((middle, leg.knee.below_knee), f"knee {show(leg.knee.then)}"),
            Word((middle, leg.hem.below_knee), f"hem {show(leg.hem.then)}"),
        ]
        alt = (
            f"The leg lying flat: {show(leg.knee.then)} at the knee, {show(leg.hem.then)} at the"
            f" hem instead of {show(leg.hem.now)}; the new seams run straight between them."
        )
        return draw(shapes, words, alt)
