"""What is asked when money moves."""

from datetime import date
from typing import Any

from django import forms

from jobs.billing.models import Payment
from jobs.billing.queries import AGES
from studio.shop import clock
from studio.shop.forms import Chips, MoneyField, OnceForm

DAY = forms.DateInput(attrs={"type": "date"})


class PaymentForm(OnceForm):
    amount = MoneyField()
    method = forms.ChoiceField(
        choices=Payment.Method.choices,
        widget=Chips,
        error_messages={"required": "Say whether it is cash, card or transfer."},
    )
    note = forms.CharField(max_length=200, required=False)


class RefundForm(PaymentForm):
    note = forms.CharField(label="Why", max_length=200)


class ReasonForm(OnceForm):
    why = forms.CharField(label="Why", max_length=200)


class AgeForm(forms.Form):
    """At least how many days something has been ready; empty for any time."""

    days = forms.TypedChoiceField(
        choices=[(days, f"{days} days") for days in AGES], coerce=int, required=False
    )


class DayForm(forms.Form):
    """One day of the studio; today when none is given."""

    day = forms.DateField(widget=DAY, required=False)

    def clean_day(self) -> date:
        return self.cleaned_data["day"] or clock.today()


class SpanForm(forms.Form):
    """From one day to another, both included: the fields ``from`` and ``to``."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("from", "to"):
            self.fields[name] = forms.DateField(label=name.title(), widget=DAY)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, last = cleaned.get("from"), cleaned.get("to")
        if first and last and last < first:
            self.add_error("to", "The last day is before the first.")
        return cleaned
