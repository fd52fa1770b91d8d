"""The ledger of own hours in rows."""

import django_tables2 as tables

from jobs.planning.models import HoursTaken
from studio.shop.locales import show_day, show_minutes


class HoursTakenTable(tables.Table):
    """Own hours that client work took, week by week."""

    monday = tables.Column("Week of")
    minutes = tables.Column("Hours", attrs={"th": {"class": "num"}, "td": {"class": "num"}})
    ticket = tables.Column(linkify=True, order_by="ticket__number")
    client = tables.Column(
        "Client", accessor="ticket__client__name", order_by="ticket__client__name_key"
    )
    at = tables.Column("Decided")
    by = tables.Column(accessor="by__shown_name", orderable=False)

    class Meta:
        model = HoursTaken
        fields = ("monday", "minutes", "ticket", "client", "at", "by")
        order_by = "-monday"
        empty_text = "No own hour was given away."

    def __init__(self, *args, locale: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.locale = locale

    def render_monday(self, value) -> str:
        return show_day(value, self.locale)

    def render_minutes(self, value: int) -> str:
        return show_minutes(value)

    def render_at(self, value) -> str:
        return show_day(value, self.locale)
