"""Fields and amounts that several sums share."""

from decimal import Decimal

from django import forms

from clients.fields import LengthField
from clients.fit.lengths import Length
from jobs.pricing.models import Basis, Measure
from jobs.tickets.amounts import with_unit
from jobs.tickets.fit.answers import Pin
from jobs.tickets.fit.showing import Show
from jobs.tickets.forms import longest
from jobs.tickets.models import Line


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
    if typed and len(with_unit(typed)) <= longest(Line, "amount_typed"):
        return Pin(typed.mm, with_unit(typed), measure, basis)
    return Pin(mm, show(mm), measure, basis)
