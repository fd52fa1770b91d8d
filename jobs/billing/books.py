"""The books: what the work brought in, by the day it left, and the ledger for a spreadsheet.

Money is integer minor units; days are local to the studio, a first and a last one both included.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import (
    BigIntegerField,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    TextField,
    Value,
)
from django.db.models.fields.json import KT
from django.db.models.functions import Coalesce

from jobs.billing.credits import charged_lines
from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import line_credits, standing_invoices
from jobs.tickets.models import Agreement, State, Ticket, garment_words
from studio.shop import clock

NAME = KT("data__client__name")  # of the client, as an invoice or a receipt copies it


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
    currency: str
    tax_name: str = ""
    tax_percent: str = ""
    net: int | None = None
    tax: int | None = None
    gross: int | None = None
    method: str = ""
    paid: int | None = None
    handed_over: int | None = None


def ledger(first: date, last: date) -> list[LedgerRow]:
    """The rows from ``first`` to ``last``, both included, by day; of one day, invoices first.

    A ticket that was handed over is a row of its own, whose net stands apart from what is invoiced;
    so is what was credited of single lines of it.
    """
    invoices = Invoice.objects.filter(issued_on__range=(first, last)).order_by("pk")
    payments = Payment.objects.filter(day__range=(first, last)).order_by("pk")
    rows = [row for invoice in invoices for row in _charges(invoice)]
    rows += [_payment_row(payment) for payment in payments]
    rows += [_ticket_row(ticket) for ticket in _with_names(handed_over(first, last))]
    rows += [_credited_row(credit) for credit in credited_work(first, last)]
    return sorted(rows, key=lambda row: row.day)


def _charges(invoice: Invoice) -> Iterator[LedgerRow]:
    for line in [*invoice.data["lines"], *invoice.data["adjustments"]]:
        rate = line["tax_facts"] or {"name": "", "percent": ""}
        yield LedgerRow(
            **_heading(invoice),
            day=invoice.issued_on,
            kind=invoice.get_kind_display(),
            refers_to=(invoice.data["refers_to"] or {"number": ""})["number"],
            what=": ".join(part for part in (line["garment"], line["name"]) if part),
            tax_name=rate["name"],
            tax_percent=rate["percent"],
            net=line["net"],
            tax=line["tax"],
            gross=line["gross"],
        )


def _payment_row(payment: Payment) -> LedgerRow:
    return LedgerRow(
        **_heading(payment),
        day=payment.day,
        kind=payment.get_kind_display(),
        refers_to=payment.data["reverses"] or payment.data["invoice"],
        what=payment.note,
        method=payment.get_method_display(),
        paid=payment.amount,
    )


def _with_names(tickets: QuerySet[Any]) -> QuerySet[Any]:
    """With ``copied_name``, the client's as it stands in the books: that of an invoice or else of a
    receipt, which stays when the client is erased. Without either it is empty."""
    names = [
        Subquery(rows.objects.filter(ticket=OuterRef("pk")).order_by("pk").values(name=NAME)[:1])
        for rows in (Invoice, Payment)
    ]
    name = Coalesce(*names, Value(""), output_field=TextField())
    named: QuerySet[Any] = tickets.annotate(copied_name=name)
    return named


def _ticket_row(ticket: Any) -> LedgerRow:
    return LedgerRow(
        day=_day_of(ticket),
        kind="Handed over",
        number=ticket.number,
        refers_to="",
        ticket=ticket.number,
        client=ticket.copied_name,
        what="Work as agreed, without tax",
        currency=ticket.currency,
        handed_over=ticket.net,
    )


def _credited_row(credit: Invoice) -> LedgerRow:
    return LedgerRow(
        **_heading(credit) | {"number": credit.ticket.number},
        day=_day_of_credit(credit),
        kind="Handed over",
        refers_to=credit.number,
        what="Credited of the work, without tax",
        handed_over=credit.net,
    )


def _day_of(ticket: Ticket) -> date:
    """The local day on which it was handed over."""
    return clock.local(ticket.collected_at or ticket.received_at).date()


def _heading(row: Invoice | Payment) -> dict[str, Any]:
    """What the row was issued as: the copies, not the ticket or the client of today."""
    return {
        "number": row.number,
        "ticket": row.data["ticket"],
        "client": row.data["client"]["name"],
        "currency": row.currency,
    }


@dataclass(frozen=True)
class HandedOver:
    """What the work of tickets that were handed over comes to, in minor units, as it is agreed.

    This is what the work brought in, for the year, the money room and the ledger alike. What was
    credited of single lines later is less on its own day. ``invoiced`` is the part of ``net`` that
    stands on invoices.
    """

    count: int
    net: int
    invoiced: int

    @property
    def not_invoiced(self) -> int:
        return self.net - self.invoiced


def handed_over(first: date, last: date) -> QuerySet[Any]:
    """Tickets whose last piece left from ``first`` to ``last``, with ``invoiced`` net in minor
    units; the latest first."""
    begins, ends = clock.days(first, last)
    standing = standing_invoices().filter(ticket=OuterRef("pk")).order_by()
    tickets = Ticket.objects.filter(
        state=State.COLLECTED,
        collected_at__gte=begins,
        collected_at__lt=ends,
    )
    invoiced = Coalesce(Subquery(standing.values("net")[:1]), 0, output_field=BigIntegerField())
    return tickets.annotate(invoiced=invoiced).order_by("-collected_at", "-pk")


def handed_over_between(first: date, last: date) -> HandedOver:
    """One query."""
    gone = handed_over(first, last).order_by().annotate(tickets=Value(1))
    less = credited_work(first, last).order_by().annotate(tickets=Value(0), invoiced=F("net"))
    figures = ("tickets", "net", "invoiced")
    rows = list(gone.values_list(*figures).union(less.values_list(*figures), all=True))
    return HandedOver(*(sum(row[place] for row in rows) for place in range(3)))


def credited_work(first: date, last: date) -> QuerySet[Invoice]:
    """Credit notes of single lines of work that was handed over; those count that were issued from
    ``first`` to ``last``, or before, while the work left then."""
    begins, ends = clock.days(first, last)
    later = Q(issued_on__range=(first, last), ticket__collected_at__lt=ends)
    before = Q(issued_on__lt=first, ticket__collected_at__gte=begins, ticket__collected_at__lt=ends)
    gone = line_credits().filter(later | before, ticket__state=State.COLLECTED)
    return gone.select_related("ticket").order_by("-issued_on", "-pk")


def _day_of_credit(credit: Invoice) -> date:
    return max(credit.issued_on, _day_of(credit.ticket))


@dataclass(frozen=True)
class IncomeRow:
    """One line of a ticket that was handed over; ``net`` is minor units."""

    day: date
    number: str
    name: str
    garment: str
    quantity: int
    net: int
    currency: str


@dataclass(frozen=True)
class OperationIncome:
    """``pieces`` counts how often it was done."""

    name: str
    pieces: int
    net: int


def income_rows(first: date, last: date, name: str | None = None) -> list[IncomeRow]:
    """The lines handed over from ``first`` to ``last``, the latest day first, and what of such work
    was credited; with ``name`` only its own. They come to ``handed_over_between``. Two queries.
    """
    agreements = Agreement.objects.filter(
        ticket__in=handed_over(first, last).order_by().values("pk"), version=F("ticket__version")
    ).select_related("ticket")
    rows = [
        row
        for agreement in agreements.order_by("-ticket__collected_at", "-ticket")
        for row in _lines(agreement)
    ]
    if less := [row for credit in credited_work(first, last) for row in _less(credit)]:
        rows = sorted(rows + less, key=lambda row: row.day, reverse=True)
    return [row for row in rows if name is None or row.name == name]


def income_by_operation(first: date, last: date) -> list[OperationIncome]:
    """What each operation and adjustment came to, the largest first. Two queries."""
    by_name: dict[str, list[IncomeRow]] = defaultdict(list)
    for row in income_rows(first, last):
        by_name[row.name].append(row)
    sums = [
        OperationIncome(name, sum(row.quantity for row in rows), sum(row.net for row in rows))
        for name, rows in by_name.items()
    ]
    return sorted(sums, key=lambda operation: (-operation.net, operation.name))


def _lines(agreement: Agreement) -> Iterator[IncomeRow]:
    ticket, data = agreement.ticket, agreement.data
    pieces = [
        (garment_words(garment["letter"], garment["kind"], garment["colour"]), line)
        for garment in data["garments"]
        for line in garment["lines"]
    ]
    for words, line in [*pieces, *(("", line) for line in data["adjustments"])]:
        yield IncomeRow(
            day=_day_of(ticket),
            number=ticket.number,
            name=line["name"],
            garment=words,
            quantity=line.get("quantity", 1),
            net=line["net"],
            currency=ticket.currency,
        )


def _less(credit: Invoice) -> Iterator[IncomeRow]:
    """What a credit note takes off the work; no piece was done less often."""
    for line in charged_lines(credit.data):
        yield IncomeRow(
            day=_day_of_credit(credit),
            number=credit.ticket.number,
            name=line["name"],
            garment=line["garment"],
            quantity=0,
            net=line["net"],
            currency=credit.currency,
        )
