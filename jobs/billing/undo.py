"""What an invoice or a payment stands on is credited or reversed, never undone."""

from jobs.billing.models import Invoice, Payment
from jobs.tickets.models import Garment, Line, Ticket
from studio.shop.history import HistoryError, Undo, before_undo

TERMS = (
    "client_id", "currency", "terms", "rush_percent", "discount_percent", "discount_amount",
    "net", "tax", "gross",
)  # fmt: skip
PRICES = ("name", "unit_price", "quantity", "surcharges", "tax", "removed_at")


@before_undo
def keep_what_was_billed(undo: Undo) -> None:
    """Refuse to change what was invoiced or paid since, unless that was credited or reversed."""
    if not (
        undo.touches(Ticket, *TERMS)
        or undo.touches(Line, *PRICES)
        or undo.touches(Garment, "kind_name", "removed_at")
    ):
        return
    tickets, since = undo.about(Ticket), undo.entry.at
    invoices = Invoice.objects.filter(
        ticket__in=tickets, issued_at__gte=since, kind=Invoice.Kind.INVOICE, credits=None
    )
    if invoice := invoices.first():
        raise HistoryError(
            f"Invoice {invoice.number} stands on this. Credit it instead of undoing the step."
        )
    payments = Payment.objects.filter(
        ticket__in=tickets, taken_at__gte=since, reverses=None, reversed_by=None
    )
    if payment := payments.first():
        raise HistoryError(
            f"Payment {payment.number} stands on this. Reverse it instead of undoing the step."
        )
