"""What a garment is worn with: shoes, underwear and heel height of the fitting."""

from dataclasses import dataclass
from decimal import Decimal

from jobs.tickets import verbs
from jobs.tickets.actions.locking import locked
from jobs.tickets.agreements import latest_agreement, with_worn
from jobs.tickets.errors import TicketError
from jobs.tickets.heels import HEEL_FIELDS, set_heel
from jobs.tickets.models import Agreement, Garment, Ticket
from jobs.tickets.wording import tell_worn
from studio.shop import clock
from studio.shop.history import record
from studio.shop.models import User


@dataclass(frozen=True)
class Worn:
    """What a garment is worn with at the fitting. ``heel_mm`` is in millimetres."""

    heel_mm: Decimal | None = None
    heel_typed: str = ""
    shoes: str = ""
    underwear: str = ""

    @classmethod
    def of(cls, garment: Garment) -> "Worn":
        return cls(garment.heel_mm, garment.heel_typed, garment.shoes, garment.underwear)


def note_worn(*, garment: Garment, worn: Worn, by: User) -> Garment:
    """Shoes, underwear and heel height of the fitting. Noting the same again changes nothing.

    The client is to see it, so it makes a version of the agreement. A heel height other than the
    known one leaves no hem ready to cut, see ``heels``. Raises TicketError when the garment is off
    the ticket or the ticket is closed.
    """
    with record(verbs.WORN, about=garment.ticket, by=by) as step:
        ticket = locked(garment.ticket)
        garment = Garment.objects.get(pk=garment.pk)
        was = Worn.of(garment)
        if was == worn:
            return garment
        if garment.removed_at or not ticket.is_open:
            raise TicketError("This garment is no longer in work.")
        parts = _parts(was, worn)
        step.parameters |= {"letter": garment.letter, "parts": parts}
        step.keep(ticket, garment)
        set_heel(garment, worn.heel_mm, worn.heel_typed)
        garment.shoes, garment.underwear = worn.shoes, worn.underwear
        garment.save(update_fields=[*HEEL_FIELDS, "shoes", "underwear"])
        if parts:
            _agree(ticket, garment, by, tell_worn(garment.letter, parts))
    return garment


def _parts(was: Worn, now: Worn) -> list[tuple[str, str, str]]:
    """What is another than before: its name, what was and what is."""
    parts = [
        ("heel height", was.heel_typed, now.heel_typed),
        ("shoes", was.shoes, now.shoes),
        ("underwear", was.underwear, now.underwear),
    ]
    return [(name, old, new) for name, old, new in parts if old != new]


def _agree(ticket: Ticket, garment: Garment, by: User, words: str) -> None:
    data = latest_agreement(ticket).data
    ticket.version += 1
    ticket.save(update_fields=["version"])
    Agreement.objects.create(
        ticket=ticket,
        version=ticket.version,
        agreed_at=clock.now(),
        agreed_by=by,
        delta=words[:300],
        data=with_worn(data, garment, ticket.version),
    )
