"""What is spaced evenly: buttons and buttonholes, pleats, gathers."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms

from clients.fields import LengthField
from clients.fit import spacing
from clients.fit.handbook import Advice
from jobs.tickets.fit.answers import Figure, Shape, SumAnswer, SumDrawing, Word, box, draw
from jobs.tickets.fit.sums.base import UNWORN, SumForm, UsualField, optional
from jobs.tickets.models import Garment
from studio.shop.forms import Chips

TRY = Advice("Sew one buttonhole on a scrap of the same cloth and layers first")
LEVEL = Advice(
    "A level buttonhole begins {1/8 in} beyond the line of the buttons, towards the edge; an"
    " upright one lies on it and begins {1/8 in} above the button"
)
THICK = Advice("The folds overlap behind: more than three plies lie on one another")
FULL = Advice("Usual are 2 to 3 times in thin cloth, 1 1/2 to 2 times in medium and heavy cloth")


def times_of(fullness: Fraction) -> str:
    return f"{float(fullness):.2f}".rstrip("0").rstrip(".")


def count_field(label: str, least: int) -> forms.IntegerField:
    return forms.IntegerField(
        label=label, min_value=least, max_value=spacing.MOST,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )  # fmt: skip


class ButtonsForm(SumForm):
    kind = "buttons"
    unworn = frozenset({"cushion", "bag"})
    title = "Buttons, buttonholes"
    hint = "Where each sits, how long the holes are, how far the edge goes on."
    blame = "opening"

    opening = LengthField(
        label="Length of the opening", help_text="Finished edge to finished edge."
    )
    count = count_field("Buttons", 2)
    top = UsualField("First one below the upper edge", cm="2 cm", inch="3/4 in", zero=True)
    bottom = UsualField("Last one above the lower edge", cm="10 cm", inch="4 in", zero=True)
    at = optional("One exactly at", "From the upper edge, such as the bust or the waist.")
    diameter = LengthField(label="Diameter of a button")
    thickness = UsualField("Its thickness", cm="3 mm", inch="1/8 in")

    def answer(self, garment: Garment) -> SumAnswer:
        facts, show = self.cleaned_data, self.show
        row = spacing.buttons(
            self.mm("opening"), count=facts["count"], top=self.mm("top"),
            bottom=self.mm("bottom"), at=self.mm("at") if facts["at"] else None,
        )  # fmt: skip
        hole = spacing.buttonhole(self.mm("diameter"), self.mm("thickness"))
        edge = spacing.beyond_centre(self.mm("diameter"))
        figures: list[Figure] = [
            (f"Button {number}", show(place)) for number, place in enumerate(row.places, 1)
        ]
        below = show.rest(self.mm("opening"), row.places[-1])
        another = ""
        if row.count != facts["count"]:
            another = f" So that one sits at {show(self.mm('at'))} there are {row.count}."
        return SumAnswer(
            f"Buttons {show(row.apart)} apart, buttonholes {show(hole)} long.{another}",
            f"From the upper edge, {show(row.places[0])} to the first and {below} below the last."
            " A buttonhole is as long as the button is wide and thick.",
            figures=[
                *figures,
                ("Below the last", below),
                ("Buttonhole", show(hole)),
                ("Edge beyond the line of buttons, at least", show.up(edge)),
            ],
            drawing=self._drawing(row),
            cautions=[LEVEL, TRY],
        )

    def _drawing(self, row: spacing.Buttons) -> SumDrawing:
        show, high = self.show, self.mm("opening") / 8
        shapes = [box("cloth", 0, 0, self.mm("opening"), high)]
        shapes += [Shape("new", [(at, high / 4), (at, high * 3 / 4)]) for at in row.places]
        words = [
            Word((row.places[0], high), show(row.places[0]), "start"),
            Word((row.places[-1], high), show(row.places[-1]), "end"),
        ]
        places = ", ".join(show(place) for place in row.places)
        return draw(shapes, words, f"The opening, upper edge on the left: buttons at {places}.")


class PleatsForm(SumForm):
    kind = "pleats"
    unworn = UNWORN
    title = "Pleats"
    hint = "How much cloth they take, where to fold; or how deep the cloth makes them."
    blame = "cloth"

    finished = LengthField(
        label="Finished width", help_text="All round, or the part that is pleated."
    )
    count = count_field("Pleats", 1)
    fold = forms.ChoiceField(
        label="Folded as", choices=[("knife", "Knife pleats"), ("box", "Box or inverted pleats")],
        initial="knife", widget=Chips(),
    )  # fmt: skip
    depth = optional("Depth of a fold", "Empty: as deep as what is seen, so three plies.")
    cloth = optional("Width of the cloth that is there", "Then the depth follows from it.")

    def answer(self, garment: Garment) -> SumAnswer:
        facts, show = self.cleaned_data, self.show
        finished, count, folds = self.mm("finished"), facts["count"], spacing.FOLDS[facts["fold"]]
        if facts["cloth"]:
            row = spacing.pleats_of(self.mm("cloth"), finished, count=count, folds=folds)
        else:
            depth = self.mm("depth") or finished / count / folds
            row = spacing.pleats(finished, count=count, depth=depth, folds=folds)
        each = f"{count} of {show(row.visible)}, folded {show(row.depth)} deep"
        figures: list[Figure] = [
            ("Seen of each", show(row.visible)),
            ("Depth of a fold", show(row.depth)),
            ("One takes, with what is seen", show(row.visible + row.taken)),
            ("Cloth, without seams", show.up(row.cloth)),
        ]
        marks = [(row.visible + row.taken) * place for place in range(1, count + 1)]
        figures += [
            (f"Pleat {number} ends at", show(place)) for number, place in enumerate(marks[:12], 1)
        ]
        return SumAnswer(
            f"{show.up(row.cloth)} of cloth: {each}.",
            f"Each pleat takes {show(row.taken)} beyond what is seen: twice its depth for each of"
            " its folds.",
            figures=figures,
            drawing=self._drawing(row),
            cautions=[THICK] if row.overlap else [],
        )

    def _drawing(self, row: spacing.Pleats) -> SumDrawing:
        """The first three from the edge: the cloth goes back and forth behind what is seen."""
        across, points = Fraction(0), [(Fraction(0), Fraction(0))]
        gap = row.visible / 6
        for _ in range(min(3, row.count)):
            across += row.visible
            points.append((across, Fraction(0)))
            for fold in range(row.folds):
                points += [
                    (across - row.depth, gap * (2 * fold + 1)), (across, gap * (2 * fold + 2)),
                ]  # fmt: skip
            points.append((across, Fraction(0)))
        words = [Word((row.visible / 2, 0), f"seen {self.show(row.visible)}")]
        alt = (
            f"Seen from the edge: {self.show(row.visible)} lie in front of a fold of"
            f" {self.show(row.depth)}."
        )
        return draw([Shape("new", points)], words, alt, height=60)


class GathersForm(SumForm):
    kind = "gathers"
    unworn = UNWORN
    title = "Gathers"
    hint = "How much cloth, how many widths of it, and where its quarters meet."
    blame = "cloth"

    finished = LengthField(
        label="Drawn up to", help_text="All round, or the part that is gathered."
    )
    fullness = forms.DecimalField(
        label="Times as full", min_value=Decimal("1.05"), max_value=6, max_digits=4,
        decimal_places=2, required=False, initial=2,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )  # fmt: skip
    cloth = optional("Width of the cloth that is there", "Then the fullness follows from it.")
    width = optional("Width of the bolt", "To learn how many widths are sewn together.")
    allowance = UsualField("Seam allowance", cm="1.5 cm", inch="5/8 in", zero=True)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not (cleaned.get("fullness") or cleaned.get("cloth") or self.errors):
            self.add_error("fullness", "Write how full, or how wide the cloth is.")
        return cleaned

    def answer(self, garment: Garment) -> SumAnswer:
        facts, show, finished = self.cleaned_data, self.show, self.mm("finished")
        if facts["cloth"]:
            row = spacing.gathers_of(self.mm("cloth"), finished)
        else:
            row = spacing.gathers(finished, fullness=facts["fullness"])
        times = times_of(row.fullness)
        figures: list[Figure] = [
            ("Cloth, without seams", show.up(row.cloth)),
            ("Drawn up to", show(row.finished)),
            ("Times as full", times),
            ("A quarter of the cloth", show(row.cloth / 4)),
            ("comes to", show(row.finished / 4)),
        ]
        if facts["width"]:
            pieces = spacing.widths_of_cloth(
                row.cloth, self.mm("width"), allowance=self.mm("allowance")
            )
            figures.append(("Widths to sew together", str(pieces)))
        shapes = [
            box("cloth", 0, 0, row.cloth, row.cloth / 8),
            box("new", 0, row.cloth / 5, row.finished, row.cloth / 5 + row.cloth / 8),
        ]
        words = [Word((row.cloth / 2, row.cloth / 8), show(row.cloth))]
        words.append(Word((row.finished / 2, row.cloth * 13 / 40), show(row.finished)))
        alt = f"{show(row.cloth)} of cloth, and under it the {show(row.finished)} it comes to."
        return SumAnswer(
            f"{show.up(row.cloth)} of cloth, {times} times as full.",
            "Mark quarters on both, match them, and draw each quarter up by itself.",
            figures=figures,
            drawing=draw(shapes, words, alt),
            cautions=[FULL],
        )
