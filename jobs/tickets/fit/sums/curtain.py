"""Curtains for a rail: how many widths, how long to cut them."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms

from clients.fields import LengthField
from clients.fit import curtains as sewn
from clients.fit.curtains import HEADINGS, Curtains, CurtainWindow, curtains
from clients.fit.handbook import Advice
from clients.fit.lengths import Unit
from jobs.pricing.models import Measure
from jobs.tickets.fit.answers import Figure, Shape, SumAnswer, SumDrawing, Word, box, draw
from jobs.tickets.fit.sums.base import SumForm, UsualField, optional, pin_of
from jobs.tickets.fit.sums.spacing import times_of
from jobs.tickets.models import Garment
from studio.shop.forms import Chips
from studio.shop.look.garments import drawing_of
from studio.shop.money import exact

HALF_DROP = Advice("A pattern that steps down from width to width takes half a repeat more")
SHRINKS = Advice("Wash or steam the cloth first where the curtains will be washed")
CORDS = Advice(
    "Long cords and tapes of a heading are tied away where children are: see the local rules"
)
FOLDS = 6  # drawn in each curtain


class CurtainForm(SumForm):
    kind = "curtain"
    title = "Curtains"
    hint = "Widths, pattern repeat and cut drop, from the rail and the heading."
    blame = "bolt"
    drawings = frozenset({"curtains"})
    answers = frozenset({"hem"})
    rare: tuple[str, ...] = (
        "fullness", "repeat", "returns", "overlap", "top", "hem_depth", "side", "seam",
    )  # fmt: skip
    rare_words = "Fullness, pattern, returns, hems"

    rail = LengthField(label="Rail", help_text="End to end, without the finials.")
    drop = LengthField(label="Drop", help_text="From the rail to where it ends.")
    heading = forms.ChoiceField(
        label="Heading", choices=[(row.key, row.name) for row in HEADINGS.values()],
        initial="pencil",
    )  # fmt: skip
    pair = forms.ChoiceField(
        label="Hung as", choices=[("on", "A pair"), ("one", "One")], initial="on", widget=Chips()
    )
    bolt = LengthField(label="Width of the cloth")
    fullness = forms.DecimalField(
        label="Times as full", min_value=Decimal("1.05"), max_value=6, max_digits=4,
        decimal_places=2, required=False, help_text="Empty: as usual for the heading.",
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )  # fmt: skip
    repeat = optional("Pattern repeat", "From one motif to the next, along the cloth.", zero=True)
    returns = optional("Return to the wall, each end", zero=True)
    overlap = optional("Overlap in the middle", zero=True)
    top = optional("Turned over at the top", "Empty: as usual for the heading.", zero=True)
    hem_depth = UsualField("Hem, both folds", cm="18 cm", inch="7 in", zero=True)
    side = UsualField("Side hem, both folds", cm="5 cm", inch="2 in", zero=True)
    seam = UsualField("Seam where widths meet", cm="1.5 cm", inch="5/8 in", zero=True)

    @classmethod
    def start(cls, garment: Garment, _unit: Unit, /) -> dict[str, Any]:
        """As it was measured at the window; what is wanted goes before what is there."""
        known = garment.measures.get("piece", {}) | garment.measures.get("fits", {})
        names = {"rail": "rail_width", "drop": "drop", "returns": "returns", "overlap": "overlap"}
        return {name: known[key] for name, key in names.items() if key in known}

    @classmethod
    def answers_at_once(cls, start: Any) -> bool:  # noqa: ARG003 -- the cloth is not known
        return False

    def answer(self, garment: Garment) -> SumAnswer:
        facts, show = self.cleaned_data, self.show
        heading = HEADINGS[facts["heading"]]
        window = CurtainWindow(
            self.mm("rail"), self.mm("drop"), facts["pair"] == "on",
            self.mm("returns"), self.mm("overlap"),
        )  # fmt: skip
        top = self.mm("top") if facts["top"] else heading.top
        asked = exact(facts["fullness"]) if facts["fullness"] else heading.usual
        made = curtains(
            window, self.mm("bolt"), asked, top=top, hem=self.mm("hem_depth"),
            side=self.mm("side"), seam=self.mm("seam"), repeat=self.mm("repeat"),
        )  # fmt: skip
        many = f"{made.widths} width{'s' if made.widths > 1 else ''}"
        waste = f" and {show(made.waste)} to meet the pattern" if made.waste else ""
        hung = drawing_of(garment.kind_name) in {"curtains", "other"}
        figures: list[Figure] = [
            ("Cloth in all", show.up(made.cloth)),
            ("One curtain, drawn up", show(window.each)),
            ("One curtain, flat", show(made.flat)),
            ("Times as full, as it comes out", times_of(made.fullness)),
            (f"{heading.name}: {heading.source} ({heading.label})", _range(heading)),
        ]
        return SumAnswer(
            f"{many}, each cut {show.up(made.cut)} long.",
            f"{show(window.drop)} of drop, {show(top)} at the top, {show(self.mm('hem_depth'))} of"
            f" hem{waste}; {times_of(asked)} times as full was asked.",
            figures=figures,
            drawing=self._drawing(made, top),
            cautions=[CORDS, SHRINKS, *([HALF_DROP] if self.mm("repeat") else [])],
            pin=pin_of(Measure.FINISHED, show, facts["drop"].mm, facts["drop"]) if hung else None,
        )

    def _drawing(self, made: Curtains, top: Fraction) -> SumDrawing:
        """The window as it will hang, and one width as it is cut, to one scale."""
        window, show, bolt = made.window, self.show, self.mm("bolt")
        whole = window.rail + 2 * window.returns
        shapes: list[Shape] = []
        for left in {Fraction(0), whole - window.each}:
            right = left + window.each
            shapes.append(box("cloth", left, 0, right, window.drop))
            folds = [left + window.each * fold / FOLDS for fold in range(1, FOLDS)]
            shapes += [Shape("fold", [(at, 0), (at, window.drop)]) for at in folds]
        shapes.append(Shape("new", [(0, window.drop), (whole, window.drop)]))
        gap = max(whole, window.drop) / 5
        cut = whole + gap, whole + gap + bolt
        above, below = -top, window.drop + self.mm("hem_depth")
        shapes.append(box("cloth", cut[0], above, cut[1], below))
        for start, end, kind in (
            (above, 0, "keep"), (window.drop, below, "keep"), (below, below + made.waste, "off"),
        ):  # fmt: skip
            if start < end:
                shapes.append(box(kind, cut[0], start, cut[1], end))
        end = below + made.waste
        shapes.append(Shape("cut", [(cut[0], end), (cut[1], end)]))
        words = [
            Word((whole / 2, above), f"rail {show(window.rail)}", lift=6),
            Word((whole / 2, window.drop), f"drop {show(window.drop)}", lift=-15),
            Word(((cut[0] + cut[1]) / 2, above), f"{made.widths} of {show(bolt)}", lift=6),
            Word(((cut[0] + cut[1]) / 2, end), f"cut {show.up(made.cut)}", lift=-15),
        ]
        alt = (
            f"To scale: the rail of {show(window.rail)} with a drop of {show(window.drop)}, and"
            f" beside it one width of {show(bolt)}, cut {show.up(made.cut)} long."
        )
        return draw(shapes, words, alt)


def _range(heading: sewn.Heading) -> str:
    bounds = dict.fromkeys((times_of(heading.least), times_of(heading.most)))
    return f"{' to '.join(bounds)} times as full"
