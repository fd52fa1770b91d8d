"""The rows behind a year's figures: its weeks, and the lines of its invoices."""

import django_tables2 as tables

from jobs.billing.tables import NUM, DayColumn, MoneyColumn, StudioTable
from studio.shop.words import show_day, show_minutes


class MinutesColumn(tables.Column):
    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, attrs=NUM, **kwargs)

    def render(self, value: int) -> str:
        return show_minutes(value)


class WeeksTable(StudioTable):
    """Bench time week by week; each leads to the week's own page."""

    monday = tables.Column("Week of", linkify=("week-of", {"monday": tables.A("monday")}))
    own = MinutesColumn("Own sewing")
    release = MinutesColumn("Releases")
    client = MinutesColumn("Client work")

    class Meta:
        orderable = False
        empty_text = "Nothing was written down in this year."

    def render_monday(self, value) -> str:
        return show_day(value, self.studio.locale)


class IncomeTable(StudioTable):
    """Lines of invoices and credit notes."""

    day = DayColumn("Day")
    number = tables.Column("Invoice", linkify=("invoice", {"number": tables.A("number")}))
    name = tables.Column("Operation")
    garment = tables.Column()
    quantity = tables.Column("Pieces", attrs=NUM)
    net = MoneyColumn("Without tax")

    class Meta:
        orderable = False
        empty_text = "Nothing was invoiced."
