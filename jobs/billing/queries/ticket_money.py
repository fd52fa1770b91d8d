"""The money of one ticket, for its page."""

from dataclasses import dataclass
from uuid import UUID, uuid4

from jobs.billing.models import Invoice, Payment
from jobs.billing.queries.balances import owed
from jobs.tickets.models import Ticket


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

    @property
    def to_settle(self) -> int:
        """The balance without its sign: to be paid, or to be given back."""
        return abs(self.balance)


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
