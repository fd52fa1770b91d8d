"""The ledger: every invoiced line, every credited line and every payment, in rows."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from jobs.billing.models import Invoice, Payment


@dataclass(frozen=True)
class LedgerRow:
    """One line of an invoice or credit note, or one payment. Money is minor units or None."""

    day: date
    kind: str
    number: str
    refers_to: str
    ticket: str
    client: str
    what: str
    tax_name: str
    tax_percent: str
    net: int | None
    tax: int | None
    gross: int | None
    method: str
    paid: int | None
    currency: str


def ledger(first: date, last: date) -> list[LedgerRow]:
    """The rows from ``first`` to ``last``, both included, by day; of one day, invoices first."""
    invoices = Invoice.objects.filter(issued_on__range=(first, last)).order_by("pk")
    payments = Payment.objects.filter(day__range=(first, last)).order_by("pk")
    rows = [row for invoice in invoices for row in _charges(invoice)]
    rows += [_payment(payment) for payment in payments]
    return sorted(rows, key=lambda row: row.day)


def _charges(invoice: Invoice) -> Iterator[LedgerRow]:
    for line in [*invoice.data["lines"], *invoice.data["adjustments"]]:
        rate = line["tax_facts"] or {"name": "", "percent": ""}
        yield LedgerRow(
            **_heading(invoice),
            day=invoice.issued_on,
            kind=invoice.get_kind_display(),
            refers_to=(invoice.data["refers_to"] or {"number": ""})["number"],
            what=f"{line['garment']} {line['name']}".strip(),
            tax_name=rate["name"],
            tax_percent=rate["percent"],
            net=line["net"],
            tax=line["tax"],
            gross=line["gross"],
            method="",
            paid=None,
        )


def _payment(payment: Payment) -> LedgerRow:
    return LedgerRow(
        **_heading(payment),
        day=payment.day,
        kind=payment.get_kind_display(),
        refers_to=payment.data["reverses"] or payment.data["invoice"],
        what=payment.note,
        tax_name="",
        tax_percent="",
        net=None,
        tax=None,
        gross=None,
        method=payment.get_method_display(),
        paid=payment.amount,
    )


def _heading(row: Invoice | Payment) -> dict[str, Any]:
    """What the row was issued as: the copies, not the ticket or the client of today."""
    return {
        "number": row.number,
        "ticket": row.data["ticket"],
        "client": row.data["client"]["name"],
        "currency": row.currency,
    }
