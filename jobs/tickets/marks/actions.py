"""Marking a place on a photograph, and taking the mark away."""

from django.db import transaction

from jobs.tickets.actions.locking import locked
from jobs.tickets.errors import TicketError
from jobs.tickets.history import record
from jobs.tickets.models import Mark, Photo, Ticket
from studio.shop import clock
from studio.shop.models import User

MOST = 20  # on one photograph; more nobody can tell apart


@transaction.atomic
def place_mark(*, photo: Photo, across: int, down: int, words: str, by: User) -> Mark:
    """Put the next number at ``across`` and ``down``, thousandths of width and height.

    The same words at the same place twice are one mark. Raises TicketError for a place outside
    the picture, for no words, for too many marks, and on a closed ticket.
    """
    ticket = _held(photo)
    words = words.strip()[:120]
    if not (0 <= across <= 1000 and 0 <= down <= 1000):
        raise TicketError("This place is outside the picture.")
    if not words:
        raise TicketError("Say in a few words what is there.")
    standing = photo.marks.filter(removed_at=None)
    if twin := standing.filter(across=across, down=down, words=words).first():
        return twin
    if standing.count() >= MOST:
        raise TicketError(f"{MOST} marks are on this picture. Take another photograph.")
    mark = Mark.objects.create(
        photo=photo, across=across, down=down, words=words, at=clock.now(), by=by
    )
    number = photo.marks.count()
    letter = photo.garment.letter if photo.garment else ""
    record(ticket, by, f"Mark {number} on a photograph of {letter}: {words}.")
    return mark


@transaction.atomic
def remove_mark(*, mark: Mark, by: User) -> None:
    """The mark is no longer shown; papers on which it stands keep it. Twice is once.

    Raises TicketError on a closed ticket.
    """
    photo = mark.photo
    ticket = _held(photo)
    mark = Mark.objects.get(pk=mark.pk)
    if mark.removed_at is None:
        mark.removed_at = clock.now()
        mark.save(update_fields=["removed_at"])
        number = photo.marks.filter(pk__lte=mark.pk).count()
        letter = photo.garment.letter if photo.garment else ""
        record(ticket, by, f"Took mark {number} off a photograph of {letter}: {mark.words}.")


def _held(photo: Photo) -> Ticket:
    garment = photo.garment
    if garment is None:
        raise TicketError("This photograph belongs to no ticket yet.")
    ticket = locked(garment.ticket)
    if garment.removed_at or not ticket.is_open:
        raise TicketError("This garment is no longer in work.")
    return ticket
