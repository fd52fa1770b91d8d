"""Which tickets a list shows."""

import django_filters as filters
from django import forms
from django.db.models import QuerySet

from jobs.tickets.models import State, Ticket
from studio.shop.text import fold


class TicketFilter(filters.FilterSet):
    STATES = [("open", "Open"), *State.choices]
    state = filters.ChoiceFilter(
        label="State", choices=STATES, method="by_state", empty_label="Every state"
    )
    q = filters.CharFilter(
        label="Number or client",
        method="by_words",
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )

    class Meta:
        model = Ticket
        fields = ("q", "state")

    def by_state(self, rows: QuerySet[Ticket], name: str, value: str) -> QuerySet[Ticket]:
        return rows.filter(state__in=State.open() if value == "open" else [value])

    def by_words(self, rows: QuerySet[Ticket], name: str, value: str) -> QuerySet[Ticket]:
        return rows.filter(number__contains=value.strip()) | rows.filter(
            client__name_key__contains=fold(value)
        )
