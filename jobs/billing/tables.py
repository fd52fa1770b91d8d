"""Tickets by what they wait for, invoices and payments, in rows; the ledger for a spreadsheet."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.http import HttpResponse
from django.utils.html import format_html

from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import LedgerRow, age_in_days, ledger
from jobs.tickets.models import Ticket
from jobs.tickets.tables import TicketTable
from studio.shop.files import csv_response
from studio.shop.locales import show_day
from studio.shop.models import Profile
from studio.shop.money import format_money, to_decimal

NUM = {"th": {"class": "num"}, "td": {"class": "num"}}
CLIENT = {
    "verbose_name": "Client",
    "accessor": "client__name",
    "order_by": "client__name_key",
    "linkify": ("client", {"pk": tables.A("client_id")}),
}
TICKET = {
    "verbose_name": "Ticket",
    "accessor": "ticket__number",
    "linkify": ("ticket", {"number": tables.A("ticket__number")}),
}


class StudioTable(tables.Table):
    """A table that knows the studio. ``hide`` names the columns that this reader does not see."""

    def __init__(
        self, *args: Any, studio: Profile, hide: tuple[str, ...] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, exclude=hide, **kwargs)
        self.studio = studio


class MoneyColumn(tables.Column):
    """Minor units of the row's own currency."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, attrs=NUM, **kwargs)

    def render(self, value: int, record: Any, table: StudioTable) -> str:
        return format_money(value, record.currency, table.studio.locale)


class DayColumn(tables.Column):
    def render(self, value: date | datetime, table: StudioTable) -> str:
        return show_day(value, table.studio.locale)


class WaitingTable(StudioTable):
    """Ready tickets that nobody has collected yet."""

    number = tables.Column("Ticket", linkify=True)
    client = tables.Column(**CLIENT)
    phone = tables.Column(accessor="client__phone", orderable=False, default="")
    here = tables.Column("Pieces", attrs=NUM)
    ready_at = DayColumn("Ready since")
    age = tables.Column("Days", accessor="ready_at", order_by="-ready_at", attrs=NUM)
    balance = MoneyColumn("To pay")

    class Meta:
        model = Ticket
        fields = ("number", "client", "phone", "here", "ready_at", "age", "balance")
        empty_text = "Nothing waits to be collected."

    def render_age(self, value: datetime) -> int:
        return age_in_days(value)

    def render_phone(self, value: str) -> str:
        return format_html('<a href="tel:{0}">{0}</a>', value)


class OwingTable(StudioTable):
    number = tables.Column("Ticket", linkify=True)
    client = tables.Column(**CLIENT)
    state = tables.Column()
    since = DayColumn()
    age = tables.Column("Days", accessor="since", order_by="-since", attrs=NUM)
    gross = MoneyColumn("Price")
    paid = MoneyColumn("Paid")
    balance = MoneyColumn("Open")

    class Meta:
        model = Ticket
        fields = ("number", "client", "state", "since", "age", "gross", "paid", "balance")
        empty_text = "Everything is paid."

    render_state = TicketTable.render_state

    def render_age(self, value: datetime) -> int:
        return age_in_days(value)


class InvoiceTable(StudioTable):
    number = tables.Column(linkify=True)
    kind = tables.Column()
    issued_on = DayColumn("Issued", order_by=("issued_on", "pk"))
    client = tables.Column("Client", accessor="data__client__name", orderable=False)
    ticket = tables.Column(**TICKET)
    refers_to = tables.Column("Belongs to", linkify=True, default="")
    net = MoneyColumn()
    tax = MoneyColumn()
    gross = MoneyColumn()

    class Meta:
        model = Invoice
        fields = (
            "number",
            "kind",
            "issued_on",
            "client",
            "ticket",
            "refers_to",
            "net",
            "tax",
            "gross",
        )
        order_by = "-issued_on"
        empty_text = "No invoice yet."


class PaymentTable(StudioTable):
    number = tables.Column("Receipt", linkify=("receipt", {"number": tables.A("number")}))
    day = DayColumn(order_by=("day", "pk"))
    kind = tables.Column()
    method = tables.Column()
    client = tables.Column("Client", accessor="data__client__name", orderable=False)
    ticket = tables.Column(**TICKET)
    note = tables.Column(orderable=False, default="")
    amount = MoneyColumn()

    class Meta:
        model = Payment
        fields = ("number", "day", "kind", "method", "client", "ticket", "note", "amount")
        order_by = "-day"
        empty_text = "No payment yet."


LEDGER_HEADINGS = [
    "day", "kind", "number", "belongs to", "ticket", "client", "what", "tax", "rate %", "net",
    "tax amount", "gross", "method", "paid", "currency",
]  # fmt: skip


def ledger_file(first: date, last: date) -> HttpResponse:
    """The ledger of these days, both included, as a file to keep."""
    return csv_response(_cells(ledger(first, last)), LEDGER_HEADINGS, f"ledger-{first}-{last}.csv")


def _cells(rows: Iterable[LedgerRow]) -> Iterator[list[str | Decimal | None]]:
    for row in rows:
        net, tax, gross, paid = (
            None if minor is None else to_decimal(minor, row.currency)
            for minor in (row.net, row.tax, row.gross, row.paid)
        )
        yield [
            row.day.isoformat(), row.kind, row.number, row.refers_to, row.ticket, row.client,
            row.what, row.tax_name, row.tax_percent, net, tax, gross, row.method, paid,
            row.currency,
        ]  # fmt: skip
