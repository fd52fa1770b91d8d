"""What the forms of all sums have in common: fields, amounts, lengths."""

from decimal import Decimal
from fractions import Fraction
from typing import Any, cast

from django import forms

from clients.fields import LengthField, longest
from clients.fit.lengths import Length, Unit, parse_length
from clients.sheets.queries import last_sheet, taking_of
from jobs.pricing.models import Basis, Measure
from jobs.tickets.fit.answers import Pin, Show, SumAnswer
from jobs.tickets.models import Garment, Line
from studio.shop.forms import StudioFormMixin
from studio.shop.models import Profile
from studio.shop.money import exact


class SumForm(StudioFormMixin, forms.Form):
    """A sum: its fields, and the answer to them once they are valid."""

    kind = ""  # its name in addresses and in ``models.FitSum``
    title = ""
    hint = ""
    do_not_call_in_templates = True  # a list of sums shows them as they are
    blame = ""  # the field that is told of figures which do not go together

    @property
    def unit(self) -> Unit:
        return cast("Unit", self.studio.unit)

    @property
    def show(self) -> Show:
        return Show(self.unit)

    def asked(self) -> dict[str, str]:
        """The form as it was typed, without what was left empty."""
        typed = {name: self[name].value() for name in self.fields}
        return {name: str(value) for name, value in typed.items() if value not in {None, "", False}}

    def answer(self, garment: Garment) -> SumAnswer:
        """What the valid form comes to. Raises ``FitError``."""
        raise NotImplementedError

    def mm(self, name: str, default: Decimal | int = 0) -> Fraction:
        """A length of the valid form in mm; what is usual, else ``default``, where none was."""
        length: Length | None = self.cleaned_data[name]
        return exact(length.mm if length else getattr(self.fields[name], "usual", default))

    @classmethod
    def start(cls, garment: Garment) -> dict[str, Any]:  # noqa: ARG003 -- for sums that know more
        """What is known of the garment already, for the empty form."""
        return {}


def of_the_sheet(garment: Garment, **places: str) -> dict[str, Any]:
    """The measures of the client's last sheet, by field, as they were typed with their unit."""
    sheet = last_sheet(garment.ticket.client)
    lengths = taking_of(sheet).lengths if sheet else {}
    return {
        name: lengths[key, ""].with_unit for name, key in places.items() if (key, "") in lengths
    }


class UsualField(LengthField):
    """A length that is usual where none was typed, in round figures of the studio's own unit."""

    usual: Decimal = Decimal(0)

    def __init__(self, label: str, *, cm: str, inch: str, zero: bool = False) -> None:
        self.round_figures: dict[Unit, str] = {"cm": cm, "in": inch}
        super().__init__(label=label, required=False, zero=zero)

    def for_studio(self, studio: Profile) -> None:
        super().for_studio(studio)
        figure = self.round_figures[self.unit]
        self.usual = parse_length(figure, self.unit).mm
        self.help_text = f"Empty: {figure}."


def optional(label: str, hint: str = "", *, zero: bool = False) -> LengthField:
    return LengthField(label=label, help_text=hint, required=False, zero=zero)


def layers_field() -> forms.IntegerField:
    return forms.IntegerField(
        label="Layers to hem",
        min_value=1,
        max_value=20,
        initial=1,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )


def pin_of(
    measure: Measure, show: Show, mm: Decimal, typed: Length | None = None,
    *, basis: Basis = Basis.TOTAL,
) -> Pin:  # fmt: skip
    """The amount for a line, in the words it was typed in where it was typed."""
    if typed and len(typed.with_unit) <= longest(Line, "amount_typed"):
        return Pin(typed.mm, typed.with_unit, measure, basis)
    return Pin(mm, show(mm), measure, basis)
