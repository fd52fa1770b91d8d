"""What is owed, what was paid, what waits to be collected, and what was taken on a day."""

from dataclasses import dataclass
from uuid import UUID, uuid4

from django.db.models import BigIntegerField, Case, F, OuterRef, QuerySet, Subquery, Sum, When
from django.db.models.functions import Cast, Coalesce

from jobs.billing.models import Invoice, Payment
from jobs.tickets.models import State, Ticket


def with_balances(tickets: QuerySet[Ticket]) -> QuerySet[Ticket]:
    """Each ticket with ``paid`` and ``balance`` in minor units, in the tickets' own query.

    A cancelled ticket owes nothing; what was paid on it stands as a balance below zero until it
    is given back. Only whole minor units are added up in the database, so the sums are exact.
    """
    sums = (
        Payment.objects.filter(ticket=OuterRef("pk"))
        .order_by()
        .values("ticket")
        .annotate(total=Sum("amount"))
        .values("total")
    )
    whole = BigIntegerField()
    owing = Case(When(state=State.CANCELLED, then=0), default=F("gross"), output_field=whole)
    return tickets.annotate(paid=Cast(Coalesce(Subquery(sums), 0), whole)).annotate(
        balance=owing - F("paid")
    )


def owed(ticket: Ticket) -> int:
    """What the work comes to, in minor units: nothing once the ticket is cancelled."""
    return 0 if ticket.state == State.CANCELLED else ticket.gross


def paid(ticket: Ticket) -> int:
    """What was paid less what was given back, in minor units."""
    return sum(ticket.payments.values_list("amount", flat=True))


def balance(ticket: Ticket) -> int:
    """What is still to be paid, in minor units; below zero when there is money to give back."""
    return owed(ticket) - paid(ticket)


def open_invoice(ticket: Ticket) -> Invoice | None:
    """The invoice that no credit note took back. There is at most one."""
    return ticket.invoices.filter(kind=Invoice.Kind.INVOICE, credits=None).first()


def standing_payments(ticket: Ticket) -> list[Payment]:
    """Payments and refunds in their order, without those that were reversed, or the reversals."""
    standing = ticket.payments.filter(reverses=None, reversed_by=None)
    return list(standing.order_by("pk"))


@dataclass(frozen=True)
class TicketMoney:
    """The money of one ticket, for its page. Amounts are minor units of ``currency``.

    ``outdated`` is true when the standing invoice no longer says what the ticket says.
    ``form_key`` is fresh: the forms on the page send it along, so that a double click books once.
    """

    currency: str
    net: int
    tax: int
    owed: int
    paid: int
    balance: int
    payments: list[Payment]
    invoices: list[Invoice]
    standing: Invoice | None
    outdated: bool
    form_key: UUID


def ticket_money(ticket: Ticket) -> TicketMoney:
    """What is owed on the ticket, how it was paid, what was invoiced."""
    payments = list(ticket.payments.select_related("taken_by", "reverses", "reversed_by"))
    invoices = list(ticket.invoices.select_related("refers_to"))
    credited = {invoice.refers_to_id for invoice in invoices}
    standing = next(
        (i for i in invoices if i.kind == Invoice.Kind.INVOICE and i.pk not in credited), None
    )
    total = sum(payment.amount for payment in payments)
    return TicketMoney(
        currency=ticket.currency,
        net=ticket.net,
        tax=ticket.tax,
        owed=owed(ticket),
        paid=total,
        balance=owed(ticket) - total,
        payments=payments,
        invoices=invoices,
        standing=standing,
        outdated=bool(standing and standing.gross != owed(ticket)),
        form_key=uuid4(),
    )
