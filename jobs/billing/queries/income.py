"""What the operations brought in, without tax: invoiced less credited."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from jobs.billing.models import Invoice


@dataclass(frozen=True)
class IncomeRow:
    """One line of an invoice or credit note; ``net`` is minor units, below zero when credited."""

    day: date
    number: str
    name: str
    garment: str
    quantity: int
    net: int
    currency: str


@dataclass(frozen=True)
class OperationIncome:
    """``pieces`` counts what was invoiced less what was credited."""

    name: str
    pieces: int
    net: int


def income_rows(first: date, last: date, name: str | None = None) -> list[IncomeRow]:
    """The lines from ``first`` to ``last``, the latest day first; with ``name`` only its own.

    One query.
    """
    invoices = Invoice.objects.filter(issued_on__range=(first, last)).order_by("-issued_on", "-pk")
    rows = (row for invoice in invoices for row in _lines(invoice))
    return [row for row in rows if name is None or row.name == name]


def income_by_operation(first: date, last: date) -> list[OperationIncome]:
    """What each operation and adjustment came to, the largest first. One query."""
    found: dict[str, list[IncomeRow]] = defaultdict(list)
    for row in income_rows(first, last):
        found[row.name].append(row)
    sums = [
        OperationIncome(name, sum(row.quantity for row in rows), sum(row.net for row in rows))
        for name, rows in found.items()
    ]
    return sorted(sums, key=lambda operation: (-operation.net, operation.name))


def _lines(invoice: Invoice) -> Iterator[IncomeRow]:
    sign = -1 if invoice.kind == Invoice.Kind.CREDIT else 1
    data: dict[str, Any] = invoice.data
    for line in [*data["lines"], *data["adjustments"]]:
        yield IncomeRow(
            day=invoice.issued_on,
            number=invoice.number,
            name=line["name"],
            garment=line["garment"],
            quantity=sign * line["quantity"],
            net=line["net"],
            currency=invoice.currency,
        )
