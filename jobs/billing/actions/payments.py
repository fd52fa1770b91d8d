"""Money is taken, given back, or a wrong entry is reversed."""

from typing import Any
from uuid import UUID

from django.db import transaction

from jobs.billing.errors import BillingError
from jobs.billing.facts import payment_data
from jobs.billing.models import Payment
from jobs.billing.queries import balance, open_invoice, paid
from jobs.tickets.actions.locking import locked
from jobs.tickets.history import record
from jobs.tickets.models import State, Ticket
from studio.shop import clock
from studio.shop.models import Profile, User
from studio.shop.money import format_money, whole
from studio.shop.numbers import year_number

SERIES = "R"


@transaction.atomic
def record_payment(
    *,
    ticket: Ticket,
    amount: int,
    method: str,
    kind: str,
    by: User,
    studio: Profile,
    form_key: UUID,
    note: str = "",
) -> Payment:
    """Take ``amount`` (minor units, above zero) from the client and number its receipt.

    ``kind`` is deposit, part or balance. The same ``form_key`` twice is one payment. Raises
    BillingError when it is more than the balance or the ticket is cancelled, TypeError for an
    amount that is no int.
    """
    ticket = locked(ticket)
    if made := _made(form_key, ticket=ticket, amount=amount, method=method, kind=kind):
        return made
    _check_way(method, kind, {Payment.Kind.DEPOSIT, Payment.Kind.PART, Payment.Kind.BALANCE})
    if whole(amount) <= 0:
        raise BillingError("Write an amount above zero.")
    if ticket.state == State.CANCELLED:
        raise BillingError(f"Ticket {ticket.number} is cancelled: there is nothing to pay.")
    still_open = balance(ticket)
    if amount > still_open:
        shown = format_money(max(still_open, 0), ticket.currency, studio.locale)
        raise BillingError(f"That is more than is open: {shown}.")
    return _write(
        ticket, studio, amount=amount, method=method, kind=kind, taken_by=by, form_key=form_key,
        note=note,
    )  # fmt: skip


@transaction.atomic
def refund(
    *,
    ticket: Ticket,
    amount: int,
    method: str,
    why: str,
    by: User,
    studio: Profile,
    form_key: UUID,
) -> Payment:
    """Give ``amount`` (minor units, above zero) back: a payment below zero with its own number.

    Raises BillingError when it is more than was paid or no reason is given.
    """
    ticket = locked(ticket)
    kind = Payment.Kind.REFUND
    if made := _made(form_key, ticket=ticket, amount=-whole(amount), method=method, kind=kind):
        return made
    _check_way(method, kind, {kind})
    if amount <= 0:
        raise BillingError("Write an amount above zero.")
    if not why.strip():
        raise BillingError("Say why the money is given back.")
    had = paid(ticket)
    if amount > had:
        shown = format_money(max(had, 0), ticket.currency, studio.locale)
        raise BillingError(f"That is more than was paid: {shown}.")
    return _write(
        ticket, studio, amount=-amount, method=method, kind=kind, taken_by=by,
        form_key=form_key, note=why,
    )  # fmt: skip


@transaction.atomic
def reverse_payment(
    *, payment: Payment, why: str, by: User, studio: Profile, form_key: UUID
) -> Payment:
    """Take back a wrong entry by its mirror. The wrong entry stays. Once only."""
    ticket = locked(payment.ticket)
    if made := _made(form_key, ticket=ticket, reverses=payment):
        return made
    if twin := Payment.objects.filter(reverses=payment).first():
        raise BillingError(f"{payment.number} was reversed already, by {twin.number}.")
    if payment.kind == Payment.Kind.REVERSAL:
        raise BillingError(f"{payment.number} is a reversal itself: book the payment anew.")
    if not why.strip():
        raise BillingError("Say why the payment is reversed.")
    if paid(ticket) - payment.amount < 0:
        raise BillingError(f"{payment.number} was given back already: reverse that first.")
    return _write(
        ticket, studio, amount=-payment.amount, method=payment.method, kind=Payment.Kind.REVERSAL,
        taken_by=by, form_key=form_key, note=why, reverses=payment,
    )  # fmt: skip


def _made(form_key: UUID, **facts: Any) -> Payment | None:
    """What this form has booked before. With other facts in it, it is a form sent by mistake."""
    made = Payment.objects.filter(form_key=form_key).first()
    if made and any(getattr(made, name) != fact for name, fact in facts.items()):
        raise BillingError(
            f"This form has booked {made.number} already. Look at the ticket, then start afresh."
        )
    return made


def _check_way(method: str, kind: str, kinds: set[Payment.Kind]) -> None:
    if method not in Payment.Method.values:
        raise BillingError("Say whether it is cash, card or transfer.")
    if kind not in kinds:
        raise BillingError("Say what the payment is: a deposit, a part or the balance.")


def _write(ticket: Ticket, studio: Profile, *, amount: int, note: str, **facts: Any) -> Payment:
    day = clock.today()
    payment = Payment(
        number=year_number(SERIES, day.year),
        ticket=ticket,
        invoice=open_invoice(ticket),
        currency=ticket.currency,
        amount=amount,
        note=note.strip()[:200],
        day=day,
        taken_at=clock.now(),
        **facts,
    )
    payment.data = payment_data(payment, studio, paid_total=paid(ticket) + amount)
    payment.save()
    record(ticket, payment.taken_by, _words(payment, studio), money=True)
    return payment


def _words(payment: Payment, studio: Profile) -> str:
    shown = format_money(abs(payment.amount), payment.currency, studio.locale)
    method = payment.get_method_display().lower()
    what = payment.get_kind_display()
    old = f" of {payment.reverses.number}" if payment.reverses else ""
    why = f": {payment.note}" if payment.note else ""
    return f"{what}{old}, {shown}, {method} ({payment.number}){why}."
