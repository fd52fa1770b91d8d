"""The verbs of bookkeeping. Each is one function, one transaction, and safe to send twice."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction

from jobs.billing import sealed_book, verbs
from jobs.billing.cash import cash_box
from jobs.billing.credits import CreditError, credit_charges, lines_left
from jobs.billing.documents import (
    buyer_facts,
    credit_data,
    invoice_data,
    payment_data,
    seller_facts,
)
from jobs.billing.electronic import electronic_facts
from jobs.billing.models import CashCount, Invoice, Payment
from jobs.billing.points import (
    InvoicePoint,
    is_abroad,
    is_strict,
    is_vat_number,
    missing,
    vat_number_of,
)
from jobs.billing.queries import balance, open_invoice, paid, to_give_back
from jobs.pricing.quote import TaxMode
from jobs.tickets.actions.agree import change, draft_of
from jobs.tickets.actions.lock import locked
from jobs.tickets.models import State, Ticket
from jobs.tickets.quoting import under_tax
from studio.shop import clock, history
from studio.shop.models import Profile, TaxFacts, User
from studio.shop.money import format_money, whole
from studio.shop.once import OtherContentError, sent_before

INVOICE_SERIES = "I"
RECEIPT_SERIES = "R"


class BillingError(ValueError):
    """The money cannot be booked so; the message says why and what would help."""


class IncompleteError(BillingError):
    """The invoice would lack ``points``; no number was taken. ``strict`` where the law asks."""

    def __init__(self, points: list[InvoicePoint], *, strict: bool) -> None:
        super().__init__("This invoice is not complete: " + " ".join(p.sentence for p in points))
        self.points, self.strict = points, strict


@transaction.atomic
def issue_invoice(
    *, ticket: Ticket, by: User, studio: Profile, form_key: UUID, remind: bool = False
) -> Invoice:
    """Bill what is agreed on the ticket now, under the next number of the series.

    It checks itself first (``points``): raises IncompleteError where the law asks for a point that
    is missing; where local rules decide, only if ``remind`` asks to be told of it.

    The day of issue is the studio's local day; the day of supply is the day of collection, the day
    of issue before that, and while there is still work to do the promised day, which is said to be
    to come. The same ``form_key`` twice is one invoice. Raises BillingError
    when the ticket is cancelled or has an invoice that no credit note took back.
    """
    ticket = locked(ticket)
    standing = open_invoice(ticket)
    if _again(form_key, "invoice", ticket.pk) and standing and (standing.form_key == form_key):
        return standing
    if standing:
        raise BillingError(f"Invoice {standing.number} stands. Credit it before the next.")
    if ticket.state == State.CANCELLED:
        raise BillingError(f"Ticket {ticket.number} is cancelled: there is nothing to invoice.")
    if Invoice.objects.filter(form_key=form_key).exists():
        raise BillingError("This form has issued an invoice already. Start afresh.")
    day = clock.today()
    data = _unnumbered(ticket, studio, day)
    strict = is_strict(studio.country)
    if (strict or remind) and (points := missing(data)):
        raise IncompleteError(points, strict=strict)
    number = data["number"] = sealed_book.next_number(INVOICE_SERIES, day.year)
    invoice = _write_invoice(ticket, data, issued_on=day, issued_by=by, form_key=form_key)
    history.note(verbs.INVOICED, about=ticket, by=by, number=number)
    return invoice


def missing_now(ticket: Ticket, studio: Profile) -> list[InvoicePoint]:
    """The points for which an invoice would be refused, or reminded of, if it were issued now."""
    return missing(_unnumbered(ticket, studio, clock.today()))


def _unnumbered(ticket: Ticket, studio: Profile, day: date) -> dict[str, Any]:
    to_come = ticket.state in {State.RECEIVED, State.IN_WORK}
    supplied = clock.local(ticket.collected_at).date() if ticket.collected_at else day
    if to_come:
        supplied = max(day, clock.local(ticket.promise_at).date())
    return invoice_data(
        ticket, studio, issued_on=day, supply_on=supplied, to_come=to_come,
        pay_by=day + timedelta(days=studio.pay_days),
    )  # fmt: skip


@transaction.atomic
def agree_tax(
    *, ticket: Ticket, owed: TaxFacts | None, tax_out: bool, version: int, by: User, studio: Profile
) -> Ticket:
    """Agree that the client owes the tax on all work of the ticket (reverse charge), or, without
    ``owed``, that it is charged as usual. Makes a version; the same again makes none.

    With ``tax_out`` the tax inside prices is taken out of them. Raises BillingError once
    something stands on the tax that was agreed, an invoice or a payment, where a VAT number is
    missing, and where the ticket is at another ``version`` by now; TicketError for a closed one.
    """
    ticket = locked(ticket)
    if reason := stands_on_tax(ticket):
        raise BillingError(reason)
    if ticket.version != version:
        raise BillingError("Somebody has changed this ticket just now. Look at the sums again.")
    if owed and (reason := no_reverse_charge(ticket, studio)):
        raise BillingError(reason)
    day = clock.today()
    taxes = {wear: owed or studio.tax_for(wear, day) for wear in ("worn", "new")}
    draft = under_tax(draft_of(ticket), taxes, tax_out=tax_out)
    reason = "Reverse charge" if owed else "Tax as usual"
    return change(ticket=ticket, draft=draft, studio=studio, by=by, reason=reason)


def stands_on_tax(ticket: Ticket) -> str:
    """Why the tax that was agreed stands; empty while it can still be another."""
    if invoice := open_invoice(ticket):
        return f"Invoice {invoice.number} stands. Credit it first."
    if not ticket.is_open:
        return f"Ticket {ticket.number} is {ticket.get_state_display().lower()}."
    if paid(ticket):
        return "Something is paid, and the receipt tells the tax. Give it back or reverse it first."
    return ""


def no_reverse_charge(ticket: Ticket, studio: Profile) -> str:
    """What is in the way of the client's owing the tax (Articles 196 and 226, 4 and 11a); or
    nothing."""
    if TaxMode.NONE in {ticket.terms["tax_mode"], studio.tax_mode}:
        return "No tax is charged on this ticket."
    if not is_vat_number(vat_number_of(seller_facts(studio)), studio.country):
        return "The studio's VAT number is missing or has not the form of its country's."
    if not is_abroad(buyer_facts(ticket.client), studio.country):
        return "The client's VAT number is missing, or is not one of another country."
    return ""


@transaction.atomic
def credit_invoice(
    *, invoice: Invoice, why: str, by: User, studio: Profile, form_key: UUID
) -> Invoice:
    """Take a whole invoice back by a credit note that names it; then it can be issued anew.

    Where lines of it were credited, this takes back the rest, and the ticket owes again what is
    agreed.

    A document that amends and refers unambiguously to the initial invoice is treated as an
    invoice: Directive 2006/112/EC, Article 219. So it has a number of the same series. Raises
    BillingError for a second one, for a credit note of a credit note, and without a reason.
    """
    ticket = locked(invoice.ticket)
    again = _again(form_key, "credit", invoice.pk, why.strip())
    made: Invoice | None = invoice.credits.filter(part=False).first()
    if again and made and made.form_key == form_key:
        return made
    _check_credit(invoice, made, why, "Say why the invoice is taken back.")
    parts = _line_credits(invoice)
    rest = {line.place: line.left for line in lines_left(invoice.data, parts) if line.left}
    if parts and not rest:
        raise BillingError(f"All of {invoice.number} was credited already, line by line.")
    charges = credit_charges(invoice.data, parts, rest) if parts else None
    agreed = 0 if ticket.state == State.CANCELLED else ticket.gross
    credit = _write_credit(
        invoice, studio, why=why, charges=charges, by=by, form_key=form_key,
        after=agreed - paid(ticket),
    )  # fmt: skip
    facts = {"number": credit.number, "invoice": invoice.number, "why": why.strip()}
    history.note(verbs.CREDITED, about=ticket, by=by, **facts)
    return credit


@transaction.atomic
def credit_lines(
    *,
    invoice: Invoice,
    amounts: dict[int, int],
    why: str,
    give_back: str,
    by: User,
    studio: Profile,
    form_key: UUID,
) -> Invoice:
    """Credit single lines of an invoice, or parts of them; the rest stands, so much less is owed.

    ``amounts`` are by the lines' places, as ``jobs.billing.credits`` understands them.
    What was paid too much then is given back at once by ``give_back``, a way of paying; where that
    is empty it stays on the ticket as money to give back. Raises BillingError without a reason,
    where more is credited than is left of a line, and where the invoice was taken back.
    """
    ticket = locked(invoice.ticket)
    if _again(
        form_key, "credit lines", invoice.pk, sorted(amounts.items()), why.strip(), give_back
    ):
        return Invoice.objects.get(form_key=form_key)
    made: Invoice | None = invoice.credits.filter(part=False).first()
    _check_credit(invoice, made, why, "Say why the money is given back.")
    if not amounts:
        raise BillingError("Tick the work that is credited.")
    if give_back:
        _check_way(give_back, Payment.Kind.REFUND, {Payment.Kind.REFUND})
    try:
        charges = credit_charges(invoice.data, _line_credits(invoice), amounts)
    except CreditError as wrong:
        raise BillingError(str(wrong)) from None
    credit = _write_credit(
        invoice, studio, why=why, charges=charges, by=by, form_key=form_key, part=True,
        after=balance(ticket) + charges["gross"],
    )  # fmt: skip
    history.note(
        verbs.LINES_CREDITED, about=ticket, by=by, number=credit.number, invoice=invoice.number,
        amount=-credit.gross, currency=credit.currency, why=why.strip(),
    )  # fmt: skip
    back = credit.data["to_give_back"]
    if give_back and back:
        _write_payment(
            ticket, studio, amount=-back, method=give_back, kind=Payment.Kind.REFUND, taken_by=by,
            note=f"{credit.number}: {why.strip()}",
        )  # fmt: skip
    return credit


def _check_credit(invoice: Invoice, made: Invoice | None, why: str, ask: str) -> None:
    if made:
        raise BillingError(f"{invoice.number} was credited already, by {made.number}.")
    if invoice.kind == Invoice.Kind.CREDIT:
        raise BillingError(f"{invoice.number} is a credit note itself: issue a new invoice.")
    if not why.strip():
        raise BillingError(ask)


def _line_credits(invoice: Invoice) -> list[dict[str, Any]]:
    """The copies of the credit notes on lines of the invoice so far."""
    return list(invoice.credits.filter(part=True).order_by("pk").values_list("data", flat=True))


def _write_credit(
    invoice: Invoice, studio: Profile, *, why: str, charges: dict[str, Any] | None, by: User,
    form_key: UUID, after: int, part: bool = False,
) -> Invoice:  # fmt: skip
    """``after`` is the ticket's balance when the credit counts: what of it goes back is told."""
    day = clock.today()
    number = sealed_book.next_number(INVOICE_SERIES, day.year)
    data = credit_data(
        invoice, studio, number=number, issued_on=day, reason=why.strip(), charges=charges
    )
    data["to_give_back"] = to_give_back(-data["gross"], after)
    return _write_invoice(
        invoice.ticket, data, issued_on=day, issued_by=by, form_key=form_key, refers_to=invoice,
        part=part,
    )  # fmt: skip


def _write_invoice(
    ticket: Ticket, data: dict[str, Any], refers_to: Invoice | None = None, **facts: Any
) -> Invoice:
    if data.get("electronic"):
        data |= electronic_facts(data, ticket.currency)
    amounts = {name: data[name] for name in ("number", "kind", "net", "tax", "gross")}
    invoice = Invoice.objects.create(
        ticket=ticket,
        currency=refers_to.currency if refers_to else ticket.currency,
        refers_to=refers_to,
        issued_at=clock.now(),
        data=data,
        **amounts,
        **facts,
    )
    sealed_book.close(invoice)
    return invoice


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

    ``kind`` is deposit, part or balance. The same ``form_key`` twice is one payment, whatever kind
    the second would be. Raises BillingError when it is more than the balance or the ticket is
    cancelled, TypeError for an amount that is no int.
    """
    ticket = locked(ticket)
    if _again(form_key, "payment", ticket.pk, amount, method, note.strip()):
        return Payment.objects.get(form_key=form_key)
    _check_way(method, kind, {Payment.Kind.DEPOSIT, Payment.Kind.PART, Payment.Kind.BALANCE})
    if whole(amount) <= 0:
        raise BillingError("Write an amount above zero.")
    if ticket.state == State.CANCELLED:
        raise BillingError(f"Ticket {ticket.number} is cancelled: there is nothing to pay.")
    still_open = balance(ticket)
    if amount > still_open:
        shown = format_money(max(still_open, 0), ticket.currency, studio.locale)
        raise BillingError(f"That is more than is open: {shown}.")
    return _write_payment(
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
    if _again(form_key, "refund", ticket.pk, whole(amount), method, why.strip()):
        return Payment.objects.get(form_key=form_key)
    _check_way(method, kind, {kind})
    if amount <= 0:
        raise BillingError("Write an amount above zero.")
    if not why.strip():
        raise BillingError("Say why the money is given back.")
    had = paid(ticket)
    if amount > had:
        shown = format_money(max(had, 0), ticket.currency, studio.locale)
        raise BillingError(f"That is more than was paid: {shown}.")
    return _write_payment(
        ticket, studio, amount=-amount, method=method, kind=kind, taken_by=by,
        form_key=form_key, note=why,
    )  # fmt: skip


@transaction.atomic
def reverse_payment(
    *, payment: Payment, why: str, by: User, studio: Profile, form_key: UUID
) -> Payment:
    """Take back a wrong entry by its mirror. The wrong entry stays. Once only."""
    ticket = locked(payment.ticket)
    if _again(form_key, "reversal", payment.pk, why.strip()):
        return Payment.objects.get(form_key=form_key)
    if twin := Payment.objects.filter(reverses=payment).first():
        raise BillingError(f"{payment.number} was reversed already, by {twin.number}.")
    if payment.kind == Payment.Kind.REVERSAL:
        raise BillingError(f"{payment.number} is a reversal itself: book the payment anew.")
    if not why.strip():
        raise BillingError("Say why the payment is reversed.")
    if paid(ticket) - payment.amount < 0:
        raise BillingError(f"{payment.number} was given back already: reverse that first.")
    return _write_payment(
        ticket, studio, amount=-payment.amount, method=payment.method, kind=Payment.Kind.REVERSAL,
        taken_by=by, form_key=form_key, note=why, reverses=payment,
    )  # fmt: skip


@transaction.atomic
def close_day(
    *,
    pieces: dict[int, int],
    rest: int,
    taken_out: int,
    expected: int | None,
    why: str,
    by: User,
    studio: Profile,
    form_key: UUID,
    drawer_of: User | None = None,
) -> CashCount:
    """Write down what lies in the cash box, or in the drawer of a helper, in minor units:
    ``pieces`` by their worth, and the ``rest`` in one sum. The next count starts from it.

    ``expected`` is what the page said should be there, before ``taken_out``; None for the first
    count. Raises BillingError where money was booked since, where more was taken out than was
    there, and for amounts below zero.
    """
    Profile.objects.select_for_update().get(pk=studio.pk)
    counted = sum(worth * count for worth, count in pieces.items()) + whole(rest)
    content = (sorted(pieces.items()), rest, taken_out, why.strip(), drawer_of and drawer_of.pk)
    try:
        again = sent_before(form_key, "count", *content)
    except OtherContentError:
        raise BillingError("This day was closed with another count. Look at it afresh.") from None
    if again:
        return CashCount.objects.get(form_key=form_key)
    if cash_box(drawer_of).should_be != expected:
        raise BillingError("Money was booked since you began to count. Look at the sums again.")
    if min(rest, taken_out, *pieces.values()) < 0:
        raise BillingError("Nothing that is counted is below zero.")
    if expected is not None and taken_out > max(expected, 0):
        shown = format_money(expected, studio.currency, studio.locale)
        raise BillingError(f"More was taken out than lay there: {shown}.")
    count = CashCount.objects.create(
        day=clock.today(),
        counted_at=clock.now(),
        counted_by=by,
        drawer_of=drawer_of,
        currency=studio.currency,
        pieces={str(worth): number for worth, number in pieces.items() if number},
        counted=counted,
        taken_out=taken_out,
        expected=None if expected is None else expected - taken_out,
        why=why.strip()[:200],
        form_key=form_key,
    )
    facts = {"counted": counted, "difference": count.difference, "currency": studio.currency}
    facts |= {"drawer": drawer_of.shown_name} if drawer_of else {}
    history.note(verbs.COUNTED, about=studio, by=by, **facts, why=count.why)
    return count


def _again(form_key: UUID, *content: Any) -> bool:
    """Whether this form has booked the same before. Raises BillingError where it was other."""
    made = _booked_by(form_key)
    try:
        again = sent_before(form_key, *content)
    except OtherContentError:
        again = False
    else:
        if again or not made:
            return again
    what = f"booked {made.number}" if made else "been used"
    raise BillingError(
        f"This form has {what} already. What you changed since is not saved: look at the ticket, "
        "then start afresh."
    )


def _booked_by(form_key: UUID) -> Payment | Invoice | None:
    return (
        Payment.objects.filter(form_key=form_key).first()
        or Invoice.objects.filter(form_key=form_key).first()
    )


def _check_way(method: str, kind: str, kinds: set[Payment.Kind]) -> None:
    if method not in Payment.Method.values:
        raise BillingError("Say whether it is cash, card or transfer.")
    if kind not in kinds:
        raise BillingError("Say what the payment is: a deposit, a part or the final payment.")


def _write_payment(
    ticket: Ticket, studio: Profile, *, amount: int, note: str, **facts: Any
) -> Payment:
    day = clock.today()
    payment = Payment(
        number=sealed_book.next_number(RECEIPT_SERIES, day.year),
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
    sealed_book.close(payment)
    names = ("number", "kind", "method", "amount", "currency", "note")
    parameters = {name: getattr(payment, name) for name in names}
    parameters["reverses"] = payment.reverses.number if payment.reverses else ""
    history.note(verbs.BOOKED, about=ticket, by=payment.taken_by, **parameters)
    return payment
