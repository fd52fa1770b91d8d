"""Taking back the last step, instead of asking "are you sure" before each."""

from django.core import serializers
from django.db import transaction

from jobs.tickets import quoting
from jobs.tickets.actions.locking import locked
from jobs.tickets.actions.receiving import agree, garments_with_lines
from jobs.tickets.errors import TicketError
from jobs.tickets.history import TICKET_FIELDS, readable_history, record, undoable
from jobs.tickets.models import Act, Garment, Line, Ticket
from studio.shop import clock
from studio.shop.models import Profile, User


@transaction.atomic
def undo_last(*, ticket: Ticket, act: Act | None, studio: Profile, by: User) -> Ticket:
    """Return the ticket to what it was before its last step.

    ``act`` is the step the page offered to undo: if another came after it, nothing happens but a
    TicketError. An undone change of the agreement makes a version of its own, since the client
    may hold the paper of the other.
    """
    ticket = locked(ticket)
    last = undoable(readable_history(ticket))
    if act is not None and act.undone_at:
        return ticket
    if last is None or (act is not None and act.pk != last.pk):
        raise TicketError("That was not the last step any more. Look at the history first.")
    _restore(ticket, last)
    last.undone_at = clock.now()
    last.save(update_fields=["undone_at"])
    _requote(ticket, last, studio, by)
    record(ticket, by, f"Undone: {last.words}")
    return ticket


def _restore(ticket: Ticket, act: Act) -> None:
    before = act.undo or {}
    (old,) = serializers.deserialize("json", before["ticket"])
    for name in TICKET_FIELDS:
        setattr(ticket, name, getattr(old.object, name))
    rows = [row.object for row in serializers.deserialize("json", before["rows"])]
    kept = {(type(row), row.pk) for row in rows}
    for row in rows:
        row.save()
    for model, mine in ((Garment, {"ticket": ticket}), (Line, {"garment__ticket": ticket})):
        known = [pk for kind, pk in kept if kind is model]
        added = model.objects.filter(**mine, removed_at=None).exclude(pk__in=known)
        added.update(removed_at=clock.now())


def _requote(ticket: Ticket, act: Act, studio: Profile, by: User) -> None:
    garments = garments_with_lines(ticket)
    quote = quoting.quote_lines(
        ticket, [line for _, lines in garments for line in lines], ticket.terms
    )
    ticket.net, ticket.tax, ticket.gross = quote.net, quote.tax, quote.gross
    ticket.minutes = quote.minutes
    ticket.save()
    if ticket.version > (act.undo or {})["version"]:
        ticket.version += 1
        ticket.save(update_fields=["version"])
        agree(ticket, quote, studio, by, reason="Undone", delta=f"undone: {act.words}")
