"""The drop-off becomes a ticket: client, ticket and deposit together, or nothing."""

from collections.abc import Iterable
from uuid import uuid5

from django.db import transaction

from clients.actions import add_client
from jobs.billing.actions import record_payment
from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import open_invoice
from jobs.counter.dropoff.desk import StandingTicket
from jobs.counter.dropoff.page import DropOff
from jobs.planning.actions import take_hours
from jobs.pricing.quote import Quote
from jobs.tickets import actions
from jobs.tickets.actions.agree import draft_of
from jobs.tickets.actions.lock import locked
from jobs.tickets.agreements import Delta, deltas, latest_agreement
from jobs.tickets.models import Ticket
from jobs.tickets.quoting import TicketDraft
from studio.shop.may import Tick
from studio.shop.models import User
from studio.shop.once import OtherContentError, remember_rows, sent_before


def save(page: DropOff, by: User) -> Ticket:
    """Make the ticket of this page, or agree anew the one that it changes.

    Raises TicketError (SavedAlreadyError where the form was saved before with other content),
    QuoteError, BillingError, or AlikeError where a new client may be one that
    nobody has looked at yet; then nothing was kept.
    """
    return _change(page, page.standing, by) if page.standing else _receive(page, by)


class SavedAlreadyError(actions.TicketError):
    """The form was saved as ``ticket`` before it was changed and sent again."""

    def __init__(self, ticket: Ticket) -> None:
        super().__init__(f"This form was already saved as ticket {ticket.number}.")
        self.ticket = ticket


@transaction.atomic
def _receive(page: DropOff, by: User) -> Ticket:
    """The ticket of this form, made now or by the other half of a double click."""
    key, studio, who = page.desk.form_key, page.desk.studio, page.who
    same_form = Ticket.objects.filter(form_key=key)
    try:
        again = sent_before(key, page.sent)
    except OtherContentError:
        raise SavedAlreadyError(same_form.get()) from None
    if made := same_form.first():
        if not again:
            raise SavedAlreadyError(made)
        return made
    client = who.chosen or add_client(facts=who.facts, by=by, seen=who.asked_about)
    ticket = actions.receive(client=client, draft=page.draft, studio=studio, by=by)
    remember_rows(key, _rows(page, ticket))
    _take_hours(page, ticket, by)
    _keep_read(page, ticket, by)
    answers = page.ticket.answers
    if answers.get("paid"):
        record_payment(
            ticket=ticket,
            amount=answers["paid"],
            method=answers["method"],
            kind=Payment.Kind.DEPOSIT,
            by=by,
            studio=studio,
            # The same for both halves of a double click.
            form_key=uuid5(key, "deposit"),
        )
    return ticket


class ChangedSinceError(actions.TicketError):
    """Somebody has changed the ticket since the page read it: read it again, and merge."""


def _rows(page: DropOff, ticket: Ticket) -> dict[str, int]:
    """Which garment and line became of which on the page, by their prefixes.

    The ticket has made them in the order of the page, a garment's lines in the order of work.
    """
    rows: dict[str, int] = {}
    garments = ticket.garments.order_by("pk").prefetch_related("lines")
    for form, garment in zip(page.here, garments, strict=True):
        rows[str(form.prefix)] = garment.pk
        lines = sorted(form.lines_here, key=lambda line: line.draft.work_order)
        made = sorted(garment.lines.all(), key=lambda line: line.pk)
        rows |= {str(row.prefix): line.pk for row, line in zip(lines, made, strict=True)}
    return rows


@transaction.atomic
def _change(page: DropOff, standing: StandingTicket, by: User) -> Ticket:
    """Agree anew what the page says of the ticket as it still stands.

    Raises ChangedSinceError where it stands otherwise, InvoicedError where an invoice is in the
    way; both are looked at while nobody else can change the ticket or invoice it.
    """
    ticket = locked(standing.ticket)
    if draft_of(ticket) != standing.draft:
        raise ChangedSinceError("Somebody is changing this ticket just now. Save once more.")
    before = (ticket.promise_at, ticket.minutes)
    old = latest_agreement(ticket)
    invoice = open_invoice(ticket)
    if invoice and page.quote and not same_money(ticket, page.quote):
        raise InvoicedError(invoice)
    ticket = actions.change(
        ticket=ticket,
        draft=page.draft,
        studio=page.desk.studio,
        by=by,
        reason=page.ticket.answers.get("reason", ""),
    )
    delta = deltas(old.data, latest_agreement(ticket).data)
    if not by.may(Tick.AGREED) and alters_terms(delta, standing.draft, page.draft):
        raise AsksOwnerError(delta)
    _keep_read(page, ticket, by)
    if (ticket.promise_at, ticket.minutes) != before:
        _take_hours(page, ticket, by)
    return ticket


NO_TERMS = {"wanted", "noted"}  # facts of paper that nobody agreed on


def alters_terms(delta: Iterable[Delta], before: TicketDraft, after: TicketDraft) -> bool:
    """Whether work, price or day are other than agreed; an amount that was to be measured later
    was not agreed yet."""
    kinds = {kind for kind, *_ in delta} - NO_TERMS
    was = {line.pk: line for line in before.lines}
    others = [was[line.pk] for line in after.lines if was.get(line.pk, line) != line]
    return bool(kinds) and not (kinds == {"line"} and all(one.measure_later for one in others))


class AsksOwnerError(Exception):
    """Who may not change what is agreed has changed it: nothing was kept, it is to be asked."""

    def __init__(self, delta: list[Delta]) -> None:
        super().__init__()
        self.delta = delta


class InvoicedError(actions.TicketError):
    """The price cannot change under an invoice that stands, found under ``link``."""

    def __init__(self, invoice: Invoice) -> None:
        super().__init__(
            f"Invoice {invoice.number} has been issued. Credit it first, then change what it "
            "charges for."
        )
        self.link = invoice.get_absolute_url()


def same_money(ticket: Ticket, quote: Quote) -> bool:
    """Whether the quote charges for the same things at the same prices as the last agreement."""
    data = latest_agreement(ticket).data
    agreed = [line for garment in data["garments"] for line in garment["lines"]]
    agreed += data["adjustments"]
    return sorted(
        (line["name"], line["net"], line["tax"], line["gross"]) for line in agreed
    ) == sorted(
        (line.item.name, line.net, line.tax, line.gross)
        for line in (*quote.lines, *quote.adjustments)
    )


def _take_hours(page: DropOff, ticket: Ticket, by: User) -> None:
    """The own hours that the promised day takes go into the ledger."""
    if page.cost:
        take_hours(ticket=ticket, lost=page.cost.lost, by=by)


def _keep_read(page: DropOff, ticket: Ticket, by: User) -> None:
    """The cautions ticked as read on the garments that are new on this form.

    Those of a garment that stood already are read on the ticket page.
    """
    brought = [garment for garment in page.here if garment.draft.pk is None]
    if not any(garment.cautions_read for garment in brought):
        return
    fresh = ticket.garments.filter(removed_at=None).order_by("pk")
    if page.standing:
        fresh = fresh.exclude(pk__in=page.standing.letters)
    for garment, form in zip(fresh, brought, strict=True):
        for key in form.cautions_read:
            actions.read_caution(garment=garment, key=key, by=by)
