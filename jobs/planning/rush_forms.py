"""What is asked when somebody wants a job soon."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from jobs.pricing.models import GarmentKind, Operation
from studio.shop import clock
from studio.shop.forms import HoursField, MoneyField, StudioFormMixin, day_input

FURTHEST = timedelta(days=730)


class RushForm(StudioFormMixin, forms.Form):
    """How much work, for which day, and for how much. A helper is not asked about money.

    Cleans ``works`` to the operations chosen, ``before`` to None where no fitting is needed.
    """

    day = forms.DateField(
        label="Wanted on",
        widget=day_input(),
        error_messages={"required": "Say for which day it is wanted."},
    )
    hours = HoursField(week=True, label="Bench hours", help_text="3, or 2:30, or 0:45")
    before = HoursField(
        week=True, label="Of these before a fitting", help_text="Empty if no fitting is needed."
    )
    amount = MoneyField(label="What it costs without rush", required=False)

    def __init__(
        self, *args: Any, kinds: Iterable[GarmentKind], sees_money: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, use_required_attribute=False, **kwargs)
        self.listed = {str(work.pk): work for kind in kinds for work in kind.operations.all()}
        self.fields["works"] = forms.MultipleChoiceField(
            label="Work from the price list",
            required=False,
            choices=[(pk, work.name) for pk, work in self.listed.items()],
        )
        if not sees_money:
            del self.fields["amount"]

    def clean_day(self) -> date:
        day = self.cleaned_data["day"]
        if day < clock.today():
            raise ValidationError("This day is over. Choose today or a later day.")
        if day > clock.today() + FURTHEST:
            raise ValidationError("This is more than two years away.")
        return day

    def clean_works(self) -> list[Operation]:
        return [self.listed[pk] for pk in self.cleaned_data["works"]]

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        hours, before = said.get("hours"), said.get("before")
        if not hours and not said.get("works") and not self.errors:
            self.add_error("hours", "Say how long it takes, or choose the work below.")
        if before is not None and before > (hours or 0):
            self.add_error("before", "This is more than the bench hours.")
        return said

    @property
    def price(self) -> int:
        """What was typed, else what the chosen work costs by the list."""
        typed = self.cleaned_data.get("amount")
        listed = sum(work.price for work in self.cleaned_data["works"])
        return listed if typed is None else typed


class DeclineForm(forms.Form):
    note = forms.CharField(
        label="Why not", max_length=300, required=False, widget=forms.TextInput()
    )
