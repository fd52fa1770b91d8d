"""Tickets in rows."""

import django_tables2 as tables
from django.utils.html import format_html

from jobs.tickets.models import Ticket
from studio.shop.locales import show_day


class TicketTable(tables.Table):
    number = tables.Column(linkify=True)
    client = tables.Column(accessor="client__name", order_by="client__name_key")
    pieces = tables.Column(attrs={"th": {"class": "num"}, "td": {"class": "num"}})
    state = tables.Column()
    promise_at = tables.Column("Promised")
    received_at = tables.Column("Received")

    class Meta:
        model = Ticket
        fields = ("number", "client", "pieces", "state", "promise_at", "received_at")
        order_by = "-received_at"
        empty_text = "No ticket matches."

    def __init__(self, *args, locale: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.locale = locale

    def render_state(self, record: Ticket) -> str:
        return format_html(
            '<span class="state" data-state="{}">{}</span>',
            record.state,
            record.get_state_display(),
        )

    def render_promise_at(self, value) -> str:
        return show_day(value, self.locale)

    def render_received_at(self, value) -> str:
        return show_day(value, self.locale)
