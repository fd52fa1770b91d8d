"""One step at a time on one ticket."""

from jobs.tickets.models import Ticket


def locked(ticket: Ticket) -> Ticket:
    """The ticket read again and held until the transaction ends."""
    return Ticket.objects.select_for_update().get(pk=ticket.pk)
