"""The fields of the drop-off page. None is required here: a half-filled page is a page under way.

Saving asks for what must not be missing (``checks.py``).
"""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db.models import Model
from django.urls import reverse_lazy

from clients.fields import LengthField
from clients.fit.lengths import Length
from clients.models import Client
from jobs.billing.models import Payment
from jobs.counter.dropoff.condition import MARKS
from jobs.counter.dropoff.intents import MOST_PIECES
from jobs.counter.dropoff.widgets import Chips, OneChip, text
from jobs.pricing.models import Basis, Measure
from jobs.tickets.amounts import AmbiguousAmountError, check_amount, with_unit
from jobs.tickets.draft import LineDraft
from jobs.tickets.forms import longest, storable
from jobs.tickets.models import Garment, Line, Ticket
from studio.shop.forms import MoneyField, StudioFormMixin, day_input, hour_input
from studio.shop.taxes import plain_percent

MOST_MINUTES = 6000
MONEY = ("price", "discount_percent", "discount_amount", "deposit", "paid", "method")


class CounterForm(StudioFormMixin, forms.Form):
    """A helper's form has no field that speaks of money."""

    use_required_attribute = False

    def __init__(self, *args: Any, sees_money: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not sees_money:
            for name in MONEY:
                self.fields.pop(name, None)


def words(model: type[Model], name: str, label: str, **kwargs: Any) -> forms.CharField:
    """A line of text as long as the model's column."""
    kwargs.setdefault("widget", text())
    return forms.CharField(label=label, max_length=longest(model, name), required=False, **kwargs)


# While somebody types, matching clients appear below the box.
AS_TYPED = {
    "hx-get": reverse_lazy("drop-off-clients"),
    "hx-trigger": "input changed delay:250ms",
    "hx-target": "#matches",
    "hx-swap": "innerHTML",
    "hx-sync": "this:replace",
}


class WhoForm(CounterForm):
    """The one box, and the two fields that make a client."""

    q = forms.CharField(
        label="Name or phone", max_length=200, required=False,
        widget=text("search", type="search", **AS_TYPED),
    )  # fmt: skip
    new_name = words(Client, "name", "Name")
    new_phone = words(Client, "phone", "Phone", widget=text("tel"))


class LineForm(CounterForm):
    """One operation on one garment."""

    name = words(Line, "name", "What is to be done")
    quantity = forms.IntegerField(
        label="How many", required=False, widget=text("numeric"),
        validators=[MinValueValidator(1), MaxValueValidator(MOST_PIECES)],
        error_messages={"invalid": "Write a whole number, such as 2."},
    )  # fmt: skip
    amount = LengthField(label="How far", required=False)
    basis = forms.ChoiceField(
        label="In total or each side", choices=Basis.choices, required=False, widget=OneChip()
    )
    measure = forms.ChoiceField(
        label="What is measured", choices=Measure.choices, required=False, widget=OneChip()
    )
    price = MoneyField(label="Price for one", required=False, max_minor=10**9)
    minutes = forms.IntegerField(
        label="Bench minutes for one", required=False, widget=text("numeric"),
        validators=[MinValueValidator(0), MaxValueValidator(MOST_MINUTES)],
        error_messages={"invalid": "Write whole minutes, such as 45."},
    )  # fmt: skip
    note = words(Line, "note", "Note")

    def __init__(
        self,
        *args: Any,
        surcharges: list[str],
        named_by_hand: bool,
        usual_price: str,
        usual_minutes: int,
        **kwargs: Any,
    ) -> None:
        """``surcharges`` by name; the usual price and minutes hold while those fields are empty."""
        super().__init__(*args, **kwargs)
        self.fields["amount"].label = f"How far ({self.studio.unit})"
        offered = forms.MultipleChoiceField(
            label="Surcharges", required=False, widget=Chips(),
            choices=[(name, name) for name in surcharges],
        )  # fmt: skip
        self.fields["surcharges"] = offered
        if not named_by_hand:
            del self.fields["name"]
            self.fields["minutes"].widget.attrs["placeholder"] = str(usual_minutes)
        if "price" in self.fields:
            self.fields["price"].widget.attrs["placeholder"] = usual_price

    def clean_amount(self) -> Length | None:
        return storable(self.cleaned_data["amount"], Line, "amount_typed")

    def clean(self) -> None:
        """An amount that two people could read differently is refused beside its field."""
        length = self.cleaned_data.get("amount")
        if length is None:
            return
        try:
            check_amount(
                LineDraft(
                    name="",
                    unit_price=0,
                    amount_typed=with_unit(length),
                    basis=self.cleaned_data.get("basis", ""),
                    measure=self.cleaned_data.get("measure", ""),
                )
            )
        except AmbiguousAmountError as wrong:
            self.add_error(wrong.field, str(wrong))


class GarmentForm(CounterForm):
    """One piece: what it is, how it is, what came with it."""

    kind_name = words(Garment, "kind_name", "What is it")
    colour = words(Garment, "colour", "Colour")
    description = words(Garment, "description", "Description")
    marks = forms.MultipleChoiceField(
        label="Condition", choices=[(mark, mark.capitalize()) for mark in MARKS],
        required=False, widget=Chips(),
    )  # fmt: skip
    condition = forms.CharField(
        label="Where, and anything else", max_length=380, required=False, widget=text()
    )
    washed = forms.ChoiceField(
        label="Washed before?", choices=Garment.Washed.choices, required=False, widget=OneChip()
    )
    worn = forms.ChoiceField(
        label="New or worn", choices=Garment.Worn.choices, required=False, widget=OneChip()
    )
    things_left = words(Garment, "things_left", "Left with it (belt, shoes …)")
    heel = LengthField(label="Heel height of the shoes", required=False)
    fibre = words(Garment, "fibre", "Fibres on the care label (80 % wool …)")
    iron = forms.ChoiceField(
        label="Iron on the care label", choices=Garment.Iron.choices, required=False,
        widget=OneChip(),
    )  # fmt: skip

    def __init__(self, *args: Any, named_by_hand: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not named_by_hand:
            del self.fields["kind_name"]

    def clean_heel(self) -> Length | None:
        return storable(self.cleaned_data["heel"], Garment, "heel_typed")


class TicketForm(CounterForm):
    """What holds for the whole ticket."""

    promise_day = forms.DateField(label="Ready on", required=False, widget=day_input())
    promise_time = forms.TimeField(label="at", required=False, widget=hour_input())
    wanted_by = forms.DateField(label="Wanted by", required=False, widget=day_input())
    event = words(Ticket, "event", "For which event")
    note = forms.CharField(
        label="Note", max_length=4000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    rush = forms.BooleanField(label="Rush", required=False)
    discount_percent = forms.DecimalField(
        label="Discount %", required=False, max_digits=6, decimal_places=3, widget=text("decimal"),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(100))],
    )  # fmt: skip
    discount_amount = MoneyField(label="Discount amount", required=False)
    deposit = MoneyField(label="Deposit asked", required=False)
    paid = MoneyField(label="Paid now", required=False)
    method = forms.ChoiceField(
        label="Paid by", choices=Payment.Method.choices, required=False, widget=OneChip()
    )
    reason = forms.CharField(label="Why it changes", max_length=300, required=False, widget=text())

    def __init__(self, *args: Any, changes: bool, rush: Decimal, **kwargs: Any) -> None:
        """``changes`` a ticket that stands: then nothing is paid here, and a reason is asked."""
        super().__init__(*args, **kwargs)
        self.fields["rush"].label = f"Rush, +{plain_percent(rush)} %"
        for name in ("paid", "method") if changes else ("reason",):
            self.fields.pop(name, None)

    def clean(self) -> None:
        percent = self.cleaned_data.get("discount_percent")
        if percent and self.cleaned_data.get("discount_amount"):
            raise ValidationError(
                {"discount_amount": "Take off a percentage or an amount, not both."}
            )
