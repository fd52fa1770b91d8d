"""What becomes known of a garment while it is here."""

from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal

from jobs.tickets import verbs
from jobs.tickets.actions.locking import locked
from jobs.tickets.actions.worn import Worn, note_worn
from jobs.tickets.errors import TicketError
from jobs.tickets.models import Garment
from studio.shop.history import Verb, record
from studio.shop.models import User


def note_heel(*, garment: Garment, heel_mm: Decimal, heel_typed: str, by: User) -> Garment:
    """The heel height of the shoes it will be worn with; see ``note_worn``."""
    known = Garment.objects.get(pk=garment.pk)
    worn = Worn(heel_mm, heel_typed, known.shoes, known.underwear)
    return note_worn(garment=garment, worn=worn, by=by)


def note_care(*, garment: Garment, fibre: str, iron: str, by: User) -> Garment:
    """What the care label says: its fibres and its iron. The same again changes nothing.

    Raises TicketError when the garment is off the ticket or the ticket is closed.
    """
    with _held(verbs.CARE, garment, by, fibre=fibre, iron=iron) as held:
        held.fibre, held.iron = fibre, iron
        held.save(update_fields=["fibre", "iron"])
    return held


def note_cloth(*, garment: Garment, cloth: str, by: User) -> Garment:
    """What the garment is made of: one of ``Garment.Cloth`` or nothing. Again changes nothing.

    Raises TicketError when the garment is off the ticket or the ticket is closed.
    """
    with _held(verbs.CLOTH, garment, by, cloth=cloth) as held:
        held.cloth = cloth
        held.save(update_fields=["cloth"])
    return held


@contextmanager
def _held(verb: Verb, garment: Garment, by: User, **facts: str) -> Iterator[Garment]:
    """The garment read again, in work still unless it has these ``facts`` already."""
    with record(verb, about=garment.ticket, by=by, **facts) as step:
        ticket = locked(garment.ticket)
        garment = Garment.objects.get(pk=garment.pk)
        known = all(getattr(garment, name) == value for name, value in facts.items())
        if not known and (garment.removed_at or not ticket.is_open):
            raise TicketError("This garment is no longer in work.")
        step.parameters["letter"] = garment.letter
        step.keep(garment)
        yield garment
