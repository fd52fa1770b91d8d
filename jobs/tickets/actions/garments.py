"""What becomes known of a garment while it is here."""

from decimal import Decimal

from django.db import transaction

from jobs.tickets.actions.locking import locked
from jobs.tickets.errors import TicketError
from jobs.tickets.history import record, snapshot
from jobs.tickets.models import Garment
from studio.shop.models import User


@transaction.atomic
def note_heel(*, garment: Garment, heel_mm: Decimal, heel_typed: str, by: User) -> Garment:
    """The heel height of the shoes it will be worn with. Noting the same again changes nothing.

    Raises TicketError when the garment is off the ticket or the ticket is closed.
    """
    ticket = locked(garment.ticket)
    garment = Garment.objects.get(pk=garment.pk)
    if (garment.heel_mm, garment.heel_typed) == (heel_mm, heel_typed):
        return garment
    if garment.removed_at or not ticket.is_open:
        raise TicketError("This garment is no longer in work.")
    before = snapshot(ticket)
    garment.heel_mm, garment.heel_typed = heel_mm, heel_typed
    garment.save(update_fields=["heel_mm", "heel_typed"])
    record(ticket, by, f"Heel height of {garment.letter}: {heel_typed}.", before=before)
    return garment
