"""Photographs of garments, and the marks on them."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django.core.files.uploadedfile import UploadedFile

from jobs.tickets import verbs
from jobs.tickets.actions.lock import TicketError, locked
from jobs.tickets.models import Garment, Mark, Photo
from studio.shop import clock
from studio.shop.history import Step, Verb, record
from studio.shop.models import User
from studio.shop.pictures import FreshPicture, redraw
from studio.shop.stored.files import FilePiece, atomic_with_files, save_with_file

FORGOTTEN = timedelta(days=2)
MOST_MARKS = 20  # on one photograph; more nobody can tell apart


def keep(upload: "UploadedFile[Any]", *, form_key: UUID) -> Photo:
    """Store a redrawn photograph for the form; saving its ticket gives it to a garment.

    Those of forms that nobody has saved for `FORGOTTEN` are thrown away.
    Raises ``studio.shop.pictures.PictureError``.
    """
    picture = redraw(upload)
    photo = Photo(width=picture.width, height=picture.height, form_key=form_key)
    piece = _piece(photo, picture)
    with atomic_with_files(piece):
        save_with_file(piece)
    _throw_away_forgotten()
    return photo


def add(picture: FreshPicture, *, garment: Garment, by: User) -> Photo:
    """A photograph of a garment that is already on a ticket."""
    ticket, letter = garment.ticket, garment.letter
    photo = Photo(width=picture.width, height=picture.height, garment=garment)
    piece = _piece(photo, picture)
    with (
        atomic_with_files(piece),
        record(verbs.PHOTOGRAPHED, about=ticket, by=by, letter=letter) as step,
    ):
        save_with_file(piece)
        step.add(photo)
    return photo


def _throw_away_forgotten() -> None:
    """A drop-off that was never saved keeps no photograph of anybody's things."""
    for photo in Photo.objects.filter(garment=None, taken_at__lt=clock.now() - FORGOTTEN):
        photo.delete()
        photo.file.delete(save=False)


def _piece(photo: Photo, picture: FreshPicture) -> FilePiece:
    return FilePiece(photo.file, f"{uuid4().hex}.jpg", picture.jpeg)


def place_mark(*, photo: Photo, across: int, down: int, words: str, by: User) -> Mark:
    """Put the next number at ``across`` and ``down``, thousandths of width and height.

    The same words at the same place twice are one mark. Raises TicketError for a place outside
    the picture, for no words, for too many marks, and on a closed ticket.
    """
    words = words.strip()[:120]
    with _on(photo, verbs.MARKED, by, words=words) as step:
        if not (0 <= across <= 1000 and 0 <= down <= 1000):
            raise TicketError("This place is outside the picture.")
        if not words:
            raise TicketError("Say in a few words what is there.")
        standing = photo.marks.filter(removed_at=None)
        if twin := standing.filter(across=across, down=down, words=words).first():
            return twin
        if standing.count() >= MOST_MARKS:
            raise TicketError(f"{MOST_MARKS} marks are on this picture. Take another photograph.")
        mark = Mark.objects.create(
            photo=photo, across=across, down=down, words=words, at=clock.now(), by=by
        )
        step.parameters["number"] = photo.marks.count()
        step.add(mark)
    return mark


def remove_mark(*, mark: Mark, by: User) -> None:
    """The mark is no longer shown; papers on which it stands keep it. Twice is once.

    Raises TicketError on a closed ticket.
    """
    photo = mark.photo
    with _on(photo, verbs.UNMARKED, by, words=mark.words) as step:
        mark = Mark.objects.get(pk=mark.pk)
        if mark.removed_at is None:
            step.keep(mark)
            step.parameters["number"] = photo.marks.filter(pk__lte=mark.pk).count()
            mark.removed_at = clock.now()
            mark.save(update_fields=["removed_at"])


@contextmanager
def _on(photo: Photo, verb: Verb, by: User, words: str) -> Iterator[Step]:
    garment = photo.garment
    if garment is None:
        raise TicketError("This photograph belongs to no ticket yet.")
    facts = {"letter": garment.letter, "words": words}
    with record(verb, about=garment.ticket, by=by, **facts) as step:
        ticket = locked(garment.ticket)
        if garment.removed_at or not ticket.is_open:
            raise TicketError("This garment is no longer in work.")
        yield step
