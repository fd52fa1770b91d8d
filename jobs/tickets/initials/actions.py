"""The client puts initials under what was agreed."""

from uuid import uuid4

from django.core.files.base import ContentFile
from django.db import transaction

from jobs.tickets import verbs
from jobs.tickets.actions.locking import locked
from jobs.tickets.errors import TicketError
from jobs.tickets.models import Agreement, Initials
from studio.shop import clock
from studio.shop.history import note
from studio.shop.models import User


@transaction.atomic
def give_initials(
    *, agreement: Agreement, way: str, letters: str, by: User, ink: bytes = b""
) -> Initials:
    """The client's initials under the current version. ``ink`` is the PNG drawn on the glass.

    Given once they stay: asked again they are those that were given first. Raises TicketError for
    a version that is not the current one, on a closed ticket, without letters, and on the glass
    without ink.
    """
    ticket = locked(agreement.ticket)
    if given := Initials.objects.filter(agreement=agreement).first():
        return given
    if not ticket.is_open:
        raise TicketError(f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
    if agreement.version != ticket.version:
        raise TicketError(f"Version {ticket.version} has been agreed since. Look at that first.")
    letters = letters.strip()
    if not letters:
        raise TicketError("Write the client's initials.")
    way = Initials.Way(way)
    if (way == Initials.Way.GLASS) != bool(ink):
        raise TicketError("Initials on the glass are drawn, those on paper are not.")
    initials = Initials(agreement=agreement, way=way, letters=letters, at=clock.now(), by=by)
    if ink:
        initials.file.save(f"{uuid4().hex}.png", ContentFile(ink), save=False)
    initials.save()
    facts = {"version": agreement.version, "way": way.label, "letters": letters}
    note(verbs.INITIALLED, about=ticket, by=by, **facts)
    return initials
