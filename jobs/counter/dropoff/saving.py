"""The drop-off becomes a ticket: client, ticket and deposit together, or nothing."""

from collections.abc import Collection, Iterable
from datetime import date
from uuid import UUID, uuid5

from django.db import transaction

from clients.actions import AlikeError, add_client
from clients.models import Client
from jobs.billing.actions import record_payment
from jobs.billing.models import Payment
from jobs.billing.queries import open_invoice
from jobs.counter.dropoff.reading import Reading, Standing
from jobs.counter.dropoff.who import Who
from jobs.planning.actions import take_hours
from jobs.pricing.quote import Quote
from jobs.tickets import actions
from jobs.tickets.agreements import latest_agreement
from jobs.tickets.models import Ticket
from studio.shop.models import Profile, User

HoursLost = Iterable[tuple[date, int]]


@transaction.atomic
def save(reading: Reading, who: Who, *, studio: Profile, by: User, lost: HoursLost = ()) -> Ticket:
    """The ticket of this form, made now or by the other half of a double click.

    The own hours ``lost`` to it by week (Monday, minutes) go into the ledger.
    Raises TicketError, QuoteError, BillingError, or AlikeError where a new client may be one that
    nobody has looked at yet; then nothing was kept.
    """
    key = reading.draft.form_key
    same_form = Ticket.objects.filter(form_key=key)
    if made := same_form.first():
        return made
    try:
        client = who.chosen or _new_client(reading, who)
    except AlikeError:
        # The likeness may be the client that the other click has just made.
        if made := same_form.first():
            return made
        raise
    ticket = actions.receive(client=client, draft=reading.draft, studio=studio, by=by)
    take_hours(ticket=ticket, lost=lost, by=by)
    keep_read(reading, ticket, known=(), by=by)
    said = reading.ticket.cleaned_data
    if said.get("paid"):
        record_payment(
            ticket=ticket,
            amount=said["paid"],
            method=said["method"],
            kind=Payment.Kind.DEPOSIT,
            by=by,
            studio=studio,
            form_key=payment_key(key),
        )
    return ticket


@transaction.atomic
def change(
    reading: Reading,
    standing: Standing,
    *,
    seen: str,
    studio: Profile,
    by: User,
    lost: HoursLost = (),
) -> Ticket:
    """Agree anew. Raises TicketError, also where an invoice stands in the way.

    ``seen`` is the version that the page was opened with; where another has been agreed since, the
    owner looks at that first. Where day or work are others than before, the own hours ``lost`` go
    into the ledger.
    """
    if seen and seen != str(standing.ticket.version):
        raise ChangedMeanwhileError(standing.ticket)
    before = (standing.ticket.promise_at, standing.ticket.minutes)
    invoice = open_invoice(standing.ticket)
    if invoice and reading.quote and not same_money(standing.ticket, reading.quote):
        raise InvoicedError(invoice.number)
    ticket = actions.change(
        ticket=standing.ticket,
        draft=reading.draft,
        studio=studio,
        by=by,
        reason=reading.ticket.cleaned_data.get("reason", ""),
    )
    keep_read(reading, ticket, known=standing.letters, by=by)
    if (ticket.promise_at, ticket.minutes) != before:
        take_hours(ticket=ticket, lost=lost, by=by)
    return ticket


class ChangedMeanwhileError(actions.TicketError):
    """The ticket is no longer what the page was opened with."""

    def __init__(self, ticket: Ticket) -> None:
        agreed = latest_agreement(ticket)
        super().__init__(
            f"{agreed.agreed_by.shown_name} has changed this ticket since you opened the page. "
            "See how in another window. Save once more to agree what stands here instead."
        )


class InvoicedError(actions.TicketError):
    """The price cannot change under an invoice that stands."""

    def __init__(self, number: str) -> None:
        super().__init__(
            f"Invoice {number} has been issued. Credit it first, then change what it charges for."
        )
        self.number = number


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


def keep_read(reading: Reading, ticket: Ticket, *, known: Collection[int], by: User) -> None:
    """The cautions ticked as read on the garments that are new on this form.

    ``known`` are the keys of those that stood already; their cautions are read on the ticket page.
    """
    if not any(garment.read for garment in reading.standing):
        return
    fresh = ticket.garments.filter(removed_at=None).exclude(pk__in=known).order_by("pk")
    brought = [garment for garment in reading.standing if garment.draft.pk is None]
    for garment, told in zip(fresh, brought, strict=True):
        for key in told.read:
            actions.read_caution(garment=garment, key=key, by=by)


def payment_key(form_key: UUID) -> UUID:
    """The deposit's own key, the same for both halves of a double click."""
    return uuid5(form_key, "deposit")


def _new_client(reading: Reading, who: Who) -> Client:
    said = reading.who.cleaned_data
    facts = {"name": said["new_name"], "phone": said.get("new_phone", "")}
    return add_client(facts=facts, seen=who.seen)
