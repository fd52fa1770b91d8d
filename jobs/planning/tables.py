"""The ledger of own hours in rows."""

from jobs.planning.models import HoursTaken
from studio.shop import tables


class HoursTakenTable(tables.StudioTable):
    """Own hours that client work took, week by week."""

    monday = tables.DayColumn("Week of")
    minutes = tables.MinutesColumn("Hours")
    ticket = tables.Column(linkify=True, order_by="ticket__number")
    client = tables.Column(
        "Client", accessor="ticket__client__name", order_by="ticket__client__name_key"
    )
    at = tables.DayColumn("Decided")
    by = tables.Column(accessor="by__shown_name", orderable=False)

    class Meta:
        model = HoursTaken
        fields = ("monday", "minutes", "ticket", "client", "at", "by")
        order_by = "-monday"
        empty_text = "No own hour was given away."
