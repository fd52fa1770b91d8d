"""What becomes known of a garment while it is here."""

from decimal import Decimal

from django.db import transaction

from jobs.tickets.actions.locking import locked
from jobs.tickets.actions.worn import Worn, note_worn
from jobs.tickets.errors import TicketError
from jobs.tickets.history import record, snapshot
from jobs.tickets.models import Garment
from studio.shop.models import User


def note_heel(*, garment: Garment, heel_mm: Decimal, heel_typed: str, by: User) -> Garment:
    """The heel height of the shoes it will be worn with; see ``note_worn``."""
    known = Garment.objects.get(pk=garment.pk)
    worn = Worn(heel_mm, heel_typed, known.shoes, known.underwear)
    return note_worn(garment=garment, worn=worn, by=by)


@transaction.atomic
def note_care(*, garment: Garment, fibre: str, iron: str, by: User) -> Garment:
    """What the care label says: its fibres and its iron. The same again changes nothing.

    Raises TicketError when the garment is off the ticket or the ticket is closed.
    """
    ticket = locked(garment.ticket)
    garment = Garment.objects.get(pk=garment.pk)
    if (garment.fibre, garment.iron) == (fibre, iron):
        return garment
    if garment.removed_at or not ticket.is_open:
        raise TicketError("This garment is no longer in work.")
    before = snapshot(ticket)
    garment.fibre, garment.iron = fibre, iron
    garment.save(update_fields=["fibre", "iron"])
    said = "; ".join(part for part in (fibre, garment.get_iron_display()) if part)
    record(ticket, by, f"Care label of {garment.letter}: {said}.", before=before)
    return garment
