"""What becomes known of a garment while it is here: label, cloth, shoes, cautions read."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from clients.cautions.garments import cautions_for
from jobs.tickets import verbs
from jobs.tickets.actions.lock import TicketError, locked
from jobs.tickets.agreements import latest_agreement, tell_worn, with_worn
from jobs.tickets.heels import HEEL_FIELDS, set_heel
from jobs.tickets.models import Agreement, CautionRead, Garment, Ticket
from studio.shop import clock
from studio.shop.history import Verb, note, record
from studio.shop.models import LONGEST_PLACE, MOST_PLACES, Profile, User


def note_heel(*, garment: Garment, heel_mm: Decimal, heel_typed: str, by: User) -> Garment:
    """The heel height of the shoes it will be worn with; see ``note_worn``."""
    known = Garment.objects.get(pk=garment.pk)
    worn = WornWith(heel_mm, heel_typed, known.shoes, known.underwear)
    return note_worn(garment=garment, worn=worn, by=by)


def note_care(*, garment: Garment, fibre: str, iron: str, by: User) -> Garment:
    """What the care label says: its fibres and its iron. The same again changes nothing.

    Raises TicketError when the garment is off the ticket or the ticket is closed.
    """
    with _held(verbs.CARE, garment, by, fibre=fibre, iron=iron) as held:
        held.fibre, held.iron = fibre, iron
        held.save(update_fields=["fibre", "iron"])
    return held


def hang(*, ticket: Ticket, garments: Iterable[Garment], place: str, by: User) -> list[Garment]:
    """These garments hang at that place from now on; nowhere that is known, if it is empty.

    The place is offered first the next time. Gives those that hang elsewhere than before. Raises
    TicketError where one of them is not here.
    """
    wanted, place = {garment.pk for garment in garments}, " ".join(place.split())[:LONGEST_PLACE]
    with record(verbs.HUNG, about=ticket, by=by, place=place) as step:
        ticket = locked(ticket)
        here = ticket.garments.filter(removed_at=None, handed_over_at=None, pk__in=wanted)
        if not wanted or len(here) < len(wanted):
            raise TicketError("This garment is no longer here.")
        moved = [garment for garment in here if garment.hangs != place]
        step.parameters["letters"] = [garment.letter for garment in moved]
        step.keep(*moved)
        for garment in moved:
            garment.hangs = place
            garment.save(update_fields=["hangs"])
        if place and moved:
            studio = Profile.objects.select_for_update().get()
            step.keep(studio)
            studio.places_used = list(dict.fromkeys([place, *studio.places_used]))[:MOST_PLACES]
            studio.save(update_fields=["places_used"])
    return moved


def note_cloth(*, garment: Garment, cloth: str, by: User) -> Garment:
    """What the garment is made of: one of ``Garment.ClothKind`` or nothing. Again changes nothing.

    Raises TicketError when the garment is off the ticket or the ticket is closed.
    """
    with _held(verbs.CLOTH, garment, by, cloth=cloth) as held:
        held.cloth = cloth
        held.save(update_fields=["cloth"])
    return held


def measure_piece(*, garment: Garment, measures: dict[str, dict[str, str]], by: User) -> Garment:
    """The garment's lengths laid flat, and those of one that fits, as typed by measure.

    The same again changes nothing. Raises TicketError when the garment is off the ticket or the
    ticket is closed.
    """
    count = len({key for typed in measures.values() for key in typed})
    says = f"{count} measure{'' if count == 1 else 's'}"
    with record(verbs.PIECE_MEASURED, about=garment.ticket, by=by, says=says) as step:
        ticket = locked(garment.ticket)
        garment = Garment.objects.get(pk=garment.pk)
        if garment.removed_at or not ticket.is_open:
            raise TicketError("This garment is no longer in work.")
        step.parameters["letter"] = garment.letter
        if garment.measures != measures:
            step.keep(garment)
            garment.measures = measures
            garment.save(update_fields=["measures"])
    return garment


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


@dataclass(frozen=True)
class WornWith:
    """What a garment is worn with at the fitting. ``heel_mm`` is in millimetres."""

    heel_mm: Decimal | None = None
    heel_typed: str = ""
    shoes: str = ""
    underwear: str = ""

    @classmethod
    def of(cls, garment: Garment) -> "WornWith":
        return cls(garment.heel_mm, garment.heel_typed, garment.shoes, garment.underwear)


def note_worn(*, garment: Garment, worn: WornWith, by: User) -> Garment:
    """Shoes, underwear and heel height of the fitting. Noting the same again changes nothing.

    The client is to see it, so it makes a version of the agreement. A heel height other than the
    known one leaves no hem ready to cut, see ``heels``. Raises TicketError when the garment is off
    the ticket or the ticket is closed.
    """
    with record(verbs.WORN, about=garment.ticket, by=by) as step:
        ticket = locked(garment.ticket)
        garment = Garment.objects.get(pk=garment.pk)
        was = WornWith.of(garment)
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


def _parts(was: WornWith, now: WornWith) -> list[tuple[str, str, str]]:
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
