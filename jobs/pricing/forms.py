"""The price list's entries and house rules."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from jobs.pricing.files import MOST_MINUTES
from jobs.pricing.models import (
    FittingPlace,
    GarmentKind,
    Operation,
    PriceRules,
    Surcharge,
    WorkOrder,
)
from studio.shop.forms import ModelForm, MoneyField, PercentField, StudioFormMixin

OFFERED = "Offered at the counter"


class KindForm(ModelForm):
    class Meta:
        model = GarmentKind
        fields = ["name", "concern", "active"]
        labels = {"active": OFFERED}
        help_texts = {
            "concern": "What the counter is reminded of when such a garment comes in.",
        }


class OperationForm(StudioFormMixin, ModelForm):
    """An operation of one kind of garment, which the instance names."""

    price = MoneyField()

    class Meta:
        model = Operation
        fields = [
            "name", "price", "minutes", "fitting_first", "fitting_place", "work_order", "hang_days",
            "takes_amount", "usual_measure", "usual_basis", "stitch", "active",
        ]  # fmt: skip
        labels = {
            "active": OFFERED,
            "minutes": "Minutes",
            "fitting_first": "Fitting comes first",
            "fitting_place": "Around a fitting",
            "hang_days": "Days to hang",
            "stitch": "Stitch (ISO 4915)",
            "usual_measure": "The amount usually says",
            "usual_basis": "And is usually meant",
        }
        help_texts = {
            "usual_basis": "Leave it open where two people could read the amount differently.",
            "stitch": "If you like: 301 lockstitch, 103 blind stitch, 406 cover stitch.",
        }
        widgets = {
            "minutes": forms.TextInput(attrs={"inputmode": "numeric"}),
            "hang_days": forms.TextInput(attrs={"inputmode": "numeric"}),
            "stitch": forms.TextInput(attrs={"inputmode": "numeric"}),
        }

    def clean_fitting_place(self) -> str:
        place: str = self.cleaned_data["fitting_place"]
        if self.cleaned_data.get("fitting_first") and place != FittingPlace.AFTER:
            raise ValidationError("A fitting comes first, so this is after it.")
        return place

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        others = Operation.objects.filter(garment_kind=self.instance.garment_kind_id, name=name)
        if others.exclude(pk=self.instance.pk).exists():
            raise ValidationError("This garment has an operation of that name already.")
        return name


class PlaceForm(forms.Form):
    """A press moves by one place, dragging by as many as it went."""

    way = forms.ChoiceField(required=False, choices=[("up", "Up"), ("down", "Down")])
    places = forms.IntegerField(required=False, min_value=-1000, max_value=1000)
    since = forms.IntegerField(required=False, min_value=0)

    @property
    def step(self) -> int:
        one = -1 if self.cleaned_data["way"] == "up" else 1
        return self.cleaned_data["places"] or one


class SurchargeForm(StudioFormMixin, ModelForm):
    percent = PercentField(label="Price goes up by %", initial=0)
    amount = MoneyField(label="And by a fixed price for each", initial=0)
    minutes_percent = PercentField(label="Minutes go up by %", initial=0)
    minutes = forms.IntegerField(
        label="And by fixed minutes for each",
        initial=0,
        min_value=0,
        max_value=MOST_MINUTES,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )

    class Meta:
        model = Surcharge
        fields = ["name", "percent", "amount", "minutes_percent", "minutes", "active"]
        labels = {"active": OFFERED}


class PriceRulesForm(StudioFormMixin, ModelForm):
    minimum_charge = MoneyField(help_text="A ticket never comes to less. 0 for none.")
    rush_percent = PercentField(label="Rush %")
    rounding_step = MoneyField(help_text="Prices are rounded to this. The smallest coin keeps all.")
    deposit_percent = PercentField(
        label="Deposit asked, %", help_text="Asked for at drop-off; 0 for none."
    )

    class Meta:
        model = PriceRules
        fields = ["minimum_charge", "rush_percent", "rounding_step", "deposit_percent"]

    def clean_rounding_step(self) -> int:
        step: int = self.cleaned_data["rounding_step"]
        if step < 1:
            raise ValidationError("The step is at least the smallest coin.")
        return step

    def clean_deposit_percent(self) -> Decimal:
        percent: Decimal = self.cleaned_data["deposit_percent"]
        if percent > 100:
            raise ValidationError("A deposit is at most the whole price.")
        return percent


class HourForm(StudioFormMixin, forms.Form):
    hour = MoneyField(label="An hour at the bench costs")

    def clean_hour(self) -> int:
        hour: int = self.cleaned_data["hour"]
        if hour < 1:
            raise ValidationError("An hour costs something.")
        return hour


class OrderForm(forms.Form):
    """The order of work as a table: a place for each operation, once for all garments alike."""

    def __init__(self, *args: Any, operations: Iterable[Operation], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        alike: dict[tuple[int, str], list[int]] = {}
        for operation in operations:
            alike.setdefault((operation.work_order, operation.name), []).append(operation.pk)
        self.alike: dict[str, list[int]] = {}
        for (place, name), pks in sorted(alike.items()):
            field = f"place-{min(pks)}"
            self.alike[field] = pks
            self.fields[field] = forms.TypedChoiceField(
                label=name, choices=WorkOrder.choices, coerce=int, initial=place
            )

    @property
    def places(self) -> dict[int, int]:
        """The chosen place of every operation, by its key."""
        return {pk: self.cleaned_data[field] for field, pks in self.alike.items() for pk in pks}
