"""The list of tickets: its rows, and which of them it shows."""

import django_filters as filters
from django import forms
from django.db.models import QuerySet
from django.utils.html import format_html

from jobs.tickets.amounts import NOT_MEASURED
from jobs.tickets.models import State, Ticket
from jobs.tickets.queries import unmeasured
from studio.shop import tables
from studio.shop.text import fold


class TicketTable(tables.StudioTable):
    """Every order ends in the tickets' own, so that no row stands on two pages."""

    number = tables.Column(linkify=True)
    client = tables.Column(accessor="client__name", order_by=("client__name_key", "-pk"))
    pieces = tables.NumberColumn("Garments", order_by=("pieces", "-pk"))
    state = tables.Column(order_by=("state", "-pk"))
    promise_at = tables.DayColumn("Ready by", order_by=("promise_at", "pk"))
    received_at = tables.DayColumn("Received", order_by=("received_at", "pk"))

    class Meta:
        model = Ticket
        fields = ("number", "client", "pieces", "state", "promise_at", "received_at")
        order_by = "-received_at"
        empty_text = "No ticket matches."

    def render_state(self, record: Ticket) -> str:
        return format_html(
            '<span class="state" data-state="{}">{}</span>{}',
            record.state,
            record.get_state_display(),
            f" {NOT_MEASURED}" if getattr(record, "unmeasured", False) else "",
        )


class TicketFilter(filters.FilterSet):
    STATES = [("open", "Open"), ("unmeasured", NOT_MEASURED.capitalize()), *State.choices]
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
        if value == "unmeasured":
            return rows.filter(pk__in=unmeasured().values("garment__ticket"))
        return rows.filter(state__in=State.open() if value == "open" else [value])

    def by_words(self, rows: QuerySet[Ticket], name: str, value: str) -> QuerySet[Ticket]:
        return rows.filter(number__contains=value.strip()) | rows.filter(
            client__name_key__contains=fold(value)
        )
