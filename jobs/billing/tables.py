"""Tickets by what they wait for, invoices and payments, in rows; the ledger for a spreadsheet."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime
from decimal import Decimal

from django.http import HttpResponse
from django.utils.html import format_html

from jobs.billing.books import LedgerRow, ledger
from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import age_in_days, standing
from jobs.tickets.facts import places_of
from jobs.tickets.models import Ticket
from studio.shop import tables
from studio.shop.files import csv_response
from studio.shop.money import to_decimal


class WaitingTable(tables.StudioTable):
    """Ready tickets that nobody has collected yet."""

    lead, figure, aside = "client", "balance", ("here", "age")
    number = tables.Column("Ticket", linkify=True)
    client = tables.client_column()
    phone = tables.Column(accessor="client__phone", orderable=False, default="")
    here = tables.NumberColumn("Garments")
    place = tables.Column("Place", accessor="garments", orderable=False)
    ready_at = tables.DayColumn("Ready since")
    age = tables.NumberColumn("Days", accessor="ready_at", order_by="-ready_at")
    balance = tables.MoneyColumn("To pay")

    class Meta:
        model = Ticket
        fields = ("number", "client", "phone", "here", "place", "ready_at", "age", "balance")
        empty_text = "Nothing waits to be collected."

    def render_age(self, value: datetime) -> int:
        return age_in_days(value)

    def render_place(self, record: Ticket) -> str:
        return places_of(record.garments.all()) or "not known"

    def render_phone(self, record: Ticket, value: str) -> str:
        dialled = record.client.dialled
        return format_html('<a href="tel:{}">{}</a>', dialled, value) if dialled else value


class OwingTable(tables.StudioTable):
    lead, figure, aside = "client", "balance", ("age", "gross", "paid")
    number = tables.Column("Ticket", linkify=True)
    client = tables.client_column()
    state = tables.Column()
    since = tables.DayColumn()
    age = tables.NumberColumn("Days", accessor="since", order_by="-since")
    gross = tables.MoneyColumn("Total")
    paid = tables.MoneyColumn("Paid")
    balance = tables.MoneyColumn("To pay")

    class Meta:
        model = Ticket
        fields = ("number", "client", "state", "since", "age", "gross", "paid", "balance")
        empty_text = "Everything is paid."

    def render_state(self, record: Ticket) -> str:
        state = '<span class="state" data-state="{}">{}</span>'
        return format_html(state, record.state, record.get_state_display())

    def render_age(self, value: datetime) -> int:
        return age_in_days(value)


class InvoiceTable(tables.StudioTable):
    lead, figure, aside = "client", "gross", ("net", "tax")
    number = tables.Column(linkify=True)
    kind = tables.Column()
    issued_on = tables.DayColumn("Issued", order_by=("issued_on", "pk"))
    client = tables.Column("Client", accessor="data__client__name", orderable=False)
    ticket = tables.ticket_column()
    refers_to = tables.Column("Belongs to", linkify=True, default="")
    net = tables.MoneyColumn("Without tax")
    tax = tables.MoneyColumn()
    gross = tables.MoneyColumn("Total")
    standing = tables.Column("State", empty_values=(), orderable=False)

    class Meta:
        model = Invoice
        fields = (
            "number",
            "kind",
            "issued_on",
            "client",
            "standing",
            "ticket",
            "refers_to",
            "net",
            "tax",
            "gross",
        )
        order_by = "-issued_on"
        empty_text = "No invoice yet."

    def render_standing(self, record: Invoice) -> str:
        """A credit note is named by its kind."""
        if record.kind == Invoice.Kind.CREDIT:
            return ""
        return standing(record, list(record.credits.all()), list(record.payments.all())).words


class PaymentTable(tables.StudioTable):
    lead, figure = "client", "amount"
    number = tables.LinkColumn("Receipt", to="receipt", by="number")
    day = tables.DayColumn(order_by=("day", "pk"))
    kind = tables.Column()
    method = tables.Column()
    client = tables.Column("Client", accessor="data__client__name", orderable=False)
    ticket = tables.ticket_column()
    note = tables.Column(orderable=False, default="")
    amount = tables.MoneyColumn()

    class Meta:
        model = Payment
        fields = ("number", "day", "kind", "method", "client", "ticket", "note", "amount")
        order_by = "-day"
        empty_text = "No payment yet."


LEDGER_HEADINGS = [
    "day", "kind", "number", "belongs to", "ticket", "client", "what", "tax", "rate %",
    "without tax", "tax amount", "total", "method", "paid", "currency", "handed over",
]  # fmt: skip


def ledger_file(first: date, last: date) -> HttpResponse:
    """The ledger of these days, both included, as a file to keep."""
    return csv_response(_cells(ledger(first, last)), LEDGER_HEADINGS, f"ledger-{first}-{last}.csv")


def _cells(rows: Iterable[LedgerRow]) -> Iterator[list[str | Decimal | None]]:
    for row in rows:
        net, tax, gross, paid, gone = (
            None if minor is None else to_decimal(minor, row.currency)
            for minor in (row.net, row.tax, row.gross, row.paid, row.handed_over)
        )
        yield [
            row.day.isoformat(), row.kind, row.number, row.refers_to, row.ticket, row.client,
            row.what, row.tax_name, row.tax_percent, net, tax, gross, row.method, paid,
            row.currency, gone,
        ]  # fmt: skip
