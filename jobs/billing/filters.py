"""Which rows the money lists show."""

from typing import Any

import django_filters as filters
from django import forms
from django.db.models import QuerySet

from jobs.billing.models import Invoice, Payment
from jobs.tickets.models import State, Ticket

DAY = {"widget": forms.DateInput(attrs={"type": "date"})}


class OwingFilter(filters.FilterSet):
    """Handed over and not paid comes first in the owner's mind; the bench can still wait."""

    WHICH = [
        ("gone", "Handed over, not paid"),
        ("ready", "Ready"),
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
    first = filters.DateFilter("issued_on", "gte", label="From", **DAY)
    last = filters.DateFilter("issued_on", "lte", label="To", **DAY)

    class Meta:
        model = Invoice
        fields = ("q", "first", "last")


class PaymentFilter(filters.FilterSet):
    method = filters.ChoiceFilter(choices=Payment.Method.choices, empty_label="Every method")
    first = filters.DateFilter("day", "gte", label="From", **DAY)
    last = filters.DateFilter("day", "lte", label="To", **DAY)

    class Meta:
        model = Payment
        fields = ("method", "first", "last")
