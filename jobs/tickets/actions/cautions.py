"""A caution was read."""

from django.db import transaction

from clients.cautions import cautions_for
from jobs.tickets import verbs
from jobs.tickets.actions.locking import locked
from jobs.tickets.errors import TicketError
from jobs.tickets.models import CautionRead, Garment
from studio.shop import clock
from studio.shop.history import note
from studio.shop.models import User


@transaction.atomic
def read_caution(*, garment: Garment, key: str, by: User) -> CautionRead:
    """Somebody says that they have read this caution. The first to say so stays.

    Raises TicketError when the garment is off the ticket, the ticket is closed, or the garment's
    kind calls for no such caution.
    """
    ticket = locked(garment.ticket)
    garment = Garment.objects.select_related("kind").get(pk=garment.pk)
    if read := garment.cautions_read.filter(key=key).first():
        return read
    if garment.removed_at or not ticket.is_open:
        raise TicketError("This garment is no longer in work.")
    called_for = cautions_for(concern=garment.kind.concern if garment.kind else "")
    if key not in {caution.key for caution in called_for}:
        raise TicketError("This garment has no such caution.")
    read = CautionRead.objects.create(garment=garment, key=key, at=clock.now(), by=by)
    note(verbs.CAUTION_READ, about=ticket, by=by, letter=garment.letter, key=key)
    return read
