"""The points of a bustle: how many, and how far down each is picked up."""

from fractions import Fraction
from typing import Any, ClassVar

from django import forms

from clients.fields import LengthField
from clients.fit.bustles import MOST, BustlePoint, beyond, bustle
from clients.fit.handbook import Advice
from jobs.tickets.fit.answers import Figure, Shape, SumAnswer, SumDrawing, draw_beside
from jobs.tickets.fit.sums.base import SumForm, UsualField
from jobs.tickets.models import Garment
from studio.shop.money import exact

PIN = Advice("Pin every point on the client in the shoes of the event, and let her walk and sit")
STRONG = Advice("Each point carries its share of the train: sew it through to a layer that holds")
STEPS = 24  # along the edge that is drawn


class BustleForm(SumForm):
    kind = "bustle"
    title = "Bustle"
    hint = "How many points, and how far down each is picked up."
    blame = "hook"
    drawings = frozenset({"gown", "dress", "skirt"})
    rare: tuple[str, ...] = ("points", "hook", "clear")
    rare_words = "Points, hooks, how far off the floor"
    answered_by: ClassVar = {"": {"floor": "waist_floor_back"}}

    train = LengthField(
        label="Train", help_text="Along the middle behind, beyond where it reaches the floor."
    )
    wide = LengthField(label="How wide", help_text="Where it begins, side to side on the floor.")
    floor = LengthField(label="Waist to floor behind", help_text="In the shoes of the event.")
    points = forms.IntegerField(
        label="Points", min_value=1, max_value=MOST, required=False,
        help_text="Empty: 1 to 12 in (30 cm) of train, 3 to 36, 5 to 60, else 7.",
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip
    hook = UsualField("Hooked in, below the waist", cm="20 cm", inch="8 in", zero=True)
    clear = UsualField("Off the floor", cm="2.5 cm", inch="1 in", zero=True)

    @classmethod
    def answers_at_once(cls, start: Any) -> bool:  # noqa: ARG003 -- nobody has measured the train
        return False

    def answer(self, garment: Garment) -> SumAnswer:
        show, hook = self.show, self.mm("hook")
        points = bustle(
            self.mm("train"), self.mm("wide"), self.mm("floor"), hook=hook,
            clear=self.mm("clear"), points=self.cleaned_data["points"] or 0,
        )  # fmt: skip
        middle = points[len(points) // 2]
        figures: list[Figure] = [
            (_where(point, show(abs(point.aside))), f"{show(point.down)} below the waist")
            for point in points
        ]
        figures.append(("Hooked in", f"{show(hook)} below the waist"))
        many = f"{len(points)} point{'s' if len(points) > 1 else ''}"
        return SumAnswer(
            f"{many}; the middle one {show(middle.down)} below the waist.",
            f"It is lifted by {show(middle.lift)}: what lies on the floor there, and"
            f" {show(self.mm('clear'))} off it.",
            figures=figures,
            drawing=self._drawing(points),
            cautions=[PIN, STRONG],
        )

    def _drawing(self, points: tuple[BustlePoint, ...]) -> SumDrawing:
        """From behind, the train laid out below the floor: each point, and where it is hooked."""
        show, floor, half = self.show, self.mm("floor"), self.mm("wide") / 2
        train, top = self.mm("train"), exact(180)
        asides = [half * (2 * step - STEPS) / STEPS for step in range(STEPS + 1)]
        edge = [(aside, floor + beyond(train, half, aside)) for aside in asides]
        shapes = [Shape("cloth", [(-top, 0), *edge, (top, 0), (-top, 0)])]
        shapes.append(Shape("now", [(-half, floor), (half, floor)]))
        tick = half / 12
        for point in points:
            at = point.aside * min(Fraction(1), top / half)
            shapes.append(Shape("fold", [(point.aside, point.down), (at, point.hook)]))
            shapes.append(
                Shape("point", [(point.aside - tick, point.down), (point.aside + tick, point.down)])
            )
            shapes.append(Shape("point", [(at - tick, point.hook), (at + tick, point.hook)]))
        heights = sorted({(point.down, show(point.down)) for point in points})
        words = [*{text: (down, text) for down, text in heights}.values()]
        words += [
            (points[0].hook, f"hooks {show(points[0].hook)}"),
            (floor, f"floor {show(floor)}"),
        ]
        words.append((floor + train, "end of the train"))
        alt = "To scale, from behind: " + ", ".join(text for _, text in sorted(words)) + "."
        return draw_beside(shapes, words, floor + train, alt)


def _where(point: BustlePoint, aside: str) -> str:
    if not point.aside:
        return "In the middle"
    return f"{aside} to the {'left' if point.aside < 0 else 'right'}"
