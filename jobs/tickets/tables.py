"""Tickets in rows."""

from django.utils.html import format_html

from jobs.tickets.models import Ticket
from studio.shop import tables


class TicketTable(tables.StudioTable):
    number = tables.Column(linkify=True)
    client = tables.Column(accessor="client__name", order_by="client__name_key")
    pieces = tables.NumberColumn()
    state = tables.Column()
    promise_at = tables.DayColumn("Promised")
    received_at = tables.DayColumn("Received")

    class Meta:
        model = Ticket
        fields = ("number", "client", "pieces", "state", "promise_at", "received_at")
        order_by = "-received_at"
        empty_text = "No ticket matches."

    def render_state(self, record: Ticket) -> str:
        return format_html(
            '<span class="state" data-state="{}">{}</span>',
            record.state,
            record.get_state_display(),
        )
