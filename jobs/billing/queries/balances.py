"""What a ticket comes to, what was paid on it, what is still open."""

from typing import Any

from django.db.models import BigIntegerField, Case, F, OuterRef, QuerySet, Subquery, Sum, When
from django.db.models.functions import Cast, Coalesce

from jobs.billing.models import Invoice, Payment
from jobs.tickets.models import State, Ticket


def with_balances(tickets: QuerySet[Ticket]) -> QuerySet[Any]:
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


def usual_kind(ticket: Ticket, amount: int) -> Payment.Kind:
    """What a payment of ``amount`` is called: all that is open, a deposit before, or a part."""
    if amount == balance(ticket):
        return Payment.Kind.BALANCE
    at_work = ticket.state in {State.RECEIVED, State.IN_WORK}
    return Payment.Kind.DEPOSIT if at_work else Payment.Kind.PART
