"""One step at a time on one ticket, and what can go wrong with it."""

from jobs.tickets.models import Ticket


class TicketError(ValueError):
    """The step cannot be taken; the message says why and what would help."""


def locked(ticket: Ticket) -> Ticket:
    """The ticket read again and held until the transaction ends."""
    return Ticket.objects.select_for_update().get(pk=ticket.pk)
