"""An invoice is issued; a credit note takes one back."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db import transaction

from jobs.billing.errors import BillingError
from jobs.billing.facts import credit_data, invoice_data
from jobs.billing.models import Invoice
from jobs.billing.queries import open_invoice
from jobs.tickets.actions.locking import locked
from jobs.tickets.history import record
from jobs.tickets.models import State, Ticket
from studio.shop import clock
from studio.shop.models import Profile, User
from studio.shop.numbers import year_number

SERIES = "I"


@transaction.atomic
def issue_invoice(*, ticket: Ticket, by: User, studio: Profile, form_key: UUID) -> Invoice:
    """Bill what is agreed on the ticket now, under the next number of the series.

    The day of issue is the studio's local day; the day of supply is the day of collection, or
    the day of issue before that. The same ``form_key`` twice is one invoice. Raises BillingError
    when the ticket is cancelled or has an invoice that no credit note took back.
    """
    ticket = locked(ticket)
    standing = open_invoice(ticket)
    if standing and standing.form_key == form_key:
        return standing
    if standing:
        raise BillingError(f"Invoice {standing.number} stands. Credit it before the next.")
    if ticket.state == State.CANCELLED:
        raise BillingError(f"Ticket {ticket.number} is cancelled: there is nothing to invoice.")
    if Invoice.objects.filter(form_key=form_key).exists():
        raise BillingError("This form has issued an invoice already. Start afresh.")
    day = clock.today()
    number = year_number(SERIES, day.year)
    supplied = clock.local(ticket.collected_at).date() if ticket.collected_at else day
    data = invoice_data(
        ticket, studio, number=number, issued_on=day, supply_on=supplied,
        pay_by=day + timedelta(days=studio.pay_days),
    )  # fmt: skip
    invoice = _write(ticket, data, issued_on=day, issued_by=by, form_key=form_key)
    record(ticket, by, f"Invoice {number} issued.", money=True)
    return invoice


@transaction.atomic
def credit_invoice(
    *, invoice: Invoice, why: str, by: User, studio: Profile, form_key: UUID
) -> Invoice:
    """Take a whole invoice back by a credit note that names it; then it can be issued anew.

    A document that amends and refers unambiguously to the initial invoice is treated as an
    invoice: Directive 2006/112/EC, Article 219. So it has a number of the same series. Raises
    BillingError for a second one, for a credit note of a credit note, and without a reason.
    """
    ticket = locked(invoice.ticket)
    made = invoice.credits.first()
    if made and made.form_key == form_key:
        return made
    if made:
        raise BillingError(f"{invoice.number} was credited already, by {made.number}.")
    if invoice.kind == Invoice.Kind.CREDIT:
        raise BillingError(f"{invoice.number} is a credit note itself: issue a new invoice.")
    if not why.strip():
        raise BillingError("Say why the invoice is taken back.")
    day = clock.today()
    number = year_number(SERIES, day.year)
    data = credit_data(invoice, studio, number=number, issued_on=day, reason=why.strip())
    credit = _write(ticket, data, issued_on=day, issued_by=by, form_key=form_key, refers_to=invoice)
    words = f"Credit note {number} for {invoice.number}: {why.strip()}."
    record(ticket, by, words, money=True)
    return credit


def _write(ticket: Ticket, data: dict[str, Any], **facts: Any) -> Invoice:
    amounts = {name: data[name] for name in ("number", "kind", "net", "tax", "gross")}
    return Invoice.objects.create(
        ticket=ticket,
        currency=ticket.currency,
        issued_at=clock.now(),
        data=data,
        **amounts,
        **facts,
    )
