"""What is done with money, told in sentences; and what the books say before a step is undone."""

from jobs.billing.models import Payment
from jobs.billing.queries import standing_invoices
from jobs.tickets.models import Garment, Line, Ticket
from studio.shop.history import HistoryError, Undo, Verb, before_undo
from studio.shop.history.verbs import MISSING, Parameters
from studio.shop.money import format_money


def _booked(facts: Parameters, locale: str) -> str:
    kind, method = Payment.Kind(facts["kind"]).label, Payment.Method(facts["method"]).label
    amount = format_money(abs(facts["amount"]), facts["currency"], locale)
    of = f" of {facts['reverses']}" if facts["reverses"] else ""
    why = f": {facts['note']}" if facts["note"] else ""
    return f"{kind}{of}, {amount}, {method.lower()} ({facts['number']}){why}."


def _lines_credited(facts: Parameters, locale: str) -> str:
    amount = format_money(facts["amount"], facts["currency"], locale)
    why = f": {facts['why']}" if facts.get("why") else ""
    return f"{amount} credited of {facts['invoice']} by credit note {facts['number']}{why}."


def _counted(facts: Parameters, locale: str) -> str:
    counted = format_money(facts["counted"], facts["currency"], locale)
    difference = facts["difference"]
    off = format_money(abs(difference), facts["currency"], locale)
    beside = f", {off} {'over' if difference > 0 else 'short'}" if difference else ""
    why = f": {facts['why']}" if facts["why"] else ""
    drawer = facts["drawer"]
    if drawer != MISSING:
        return f"Counted, {counted} in the drawer of {drawer}{beside}{why}."
    return f"Day closed, {counted} in the cash box{beside}{why}."


COUNTED = Verb(
    "cash.count", _counted, undo=False, money=True,
    stays=("counted", "difference", "currency", "why", "drawer"),
)  # fmt: skip
INVOICED = Verb(
    "invoice.issue", "Invoice {number} issued.", undo=False, money=True, stays=("number",)
)
CREDITED = Verb(
    "invoice.credit", "Credit note {number} for {invoice}: {why}.",
    undo=False, money=True, stays=("number", "invoice"),
)  # fmt: skip
LINES_CREDITED = Verb(
    "invoice.credit_lines", _lines_credited, undo=False, money=True,
    stays=("number", "invoice", "amount", "currency"),
)  # fmt: skip
BOOKED = Verb(
    "payment.book", _booked, undo=False, money=True,
    stays=("number", "kind", "method", "amount", "currency", "reverses"),
)  # fmt: skip

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
    tickets, since = undo.about(Ticket), undo.since
    invoices = standing_invoices().filter(ticket__in=tickets, issued_at__gte=since)
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
