"""What is asked when money moves, and which rows the money lists show."""

from datetime import date
from typing import Any

import django_filters as filters
from django import forms
from django.db.models import QuerySet

from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import AGES
from jobs.tickets.models import State, Ticket
from studio.shop import clock
from studio.shop.forms import Chips, MoneyField, OnceForm, day_input


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


class DayEndForm(forms.Form):
    """One day of the studio; today when none is given."""

    day = forms.DateField(widget=day_input(), required=False)

    def clean_day(self) -> date:
        return self.cleaned_data["day"] or clock.today()


class SpanForm(forms.Form):
    """From one day to another, both included: the fields ``from`` and ``to``."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("from", "to"):
            self.fields[name] = forms.DateField(label=name.title(), widget=day_input())

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, last = cleaned.get("from"), cleaned.get("to")
        if first and last and last < first:
            self.add_error("to", "The last day is before the first.")
        return cleaned


class OwingFilter(filters.FilterSet):
    """Handed over and not paid comes first in the owner's mind; the bench can still wait."""

    WHICH = [
        ("gone", "Handed over, not paid"),
        ("ready", "Ready to collect"),
        ("bench", "Still on the bench"),
        ("back", "To give back"),
    ]
    which = filters.ChoiceFilter(
        label="Which", choices=WHICH, method="by_which", empty_label="Everything"
    )

    class Meta:
        model = Ticket
        fields = ("which",)

    def by_which(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        if value == "back":
            return rows.filter(balance__lt=0)
        states = {
            "gone": [State.COLLECTED],
            "ready": [State.READY],
            "bench": [State.RECEIVED, State.IN_WORK],
        }
        return rows.filter(balance__gt=0, state__in=states[value])


class InvoiceFilter(filters.FilterSet):
    q = filters.CharFilter("number", "icontains", label="Number")
    first = filters.DateFilter("issued_on", "gte", label="From", widget=day_input())
    last = filters.DateFilter("issued_on", "lte", label="To", widget=day_input())

    class Meta:
        model = Invoice
        fields = ("q", "first", "last")


class PaymentFilter(filters.FilterSet):
    method = filters.ChoiceFilter(choices=Payment.Method.choices, empty_label="Every method")
    first = filters.DateFilter("day", "gte", label="From", widget=day_input())
    last = filters.DateFilter("day", "lte", label="To", widget=day_input())

    class Meta:
        model = Payment
        fields = ("method", "first", "last")
