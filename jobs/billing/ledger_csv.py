"""The ledger as a table for a spreadsheet: plain decimals, ISO 8601 days."""

from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal

from django.http import HttpResponse

from jobs.billing.queries import LedgerRow, ledger
from studio.shop.files import csv_response
from studio.shop.money import to_decimal

HEADINGS = [
    "day", "kind", "number", "belongs to", "ticket", "client", "what", "tax", "rate %", "net",
    "tax amount", "gross", "method", "paid", "currency",
]  # fmt: skip


def ledger_file(first: date, last: date) -> HttpResponse:
    """The ledger of these days, both included, as a file to keep."""
    return csv_response(_cells(ledger(first, last)), HEADINGS, f"ledger-{first}-{last}.csv")


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
