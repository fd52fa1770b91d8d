"""Photographs of a ticket's garments, small enough for paper."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from django.db.models import F

from jobs.tickets.models import Photo, Ticket
from jobs.tickets.queries import Marked
from studio.shop.pictures import shrunk

SIDE = 480  # pixels; 26 mm of paper at more than 400 dots per inch
MARKED_SIDE = 1000  # pixels; 76 mm at more than 300
MOST = 6  # of one garment


@dataclass(frozen=True)
class Shown:
    """A photograph with its marks, named for the paper on which it stands."""

    name: str
    letter: str
    jpeg: bytes
    marked: Marked

    @property
    def upright(self) -> bool:
        return self.marked.photo.height > self.marked.photo.width


def photographs(ticket: Ticket, besides: Collection[int] = ()) -> dict[str, list[bytes]]:
    """The first few JPEGs of each garment by its letter. One whose file is gone is left out.

    ``besides`` are keys of those that are shown elsewhere.
    """
    pictures: dict[str, list[bytes]] = {}
    photos = Photo.objects.filter(garment__ticket=ticket).exclude(pk__in=besides)
    for photo in photos.annotate(letter=F("garment__letter")):
        shown = pictures.get(photo.letter, [])
        if len(shown) < MOST and _is_there(photo):
            pictures[photo.letter] = [*shown, thumbnail(photo, SIDE)]
    return pictures


def marked_photographs(photos: Iterable[Marked]) -> list[Shown]:
    """Those whose file is there."""
    return [
        Shown(
            name=f"marked-{marked.photo.pk}",
            letter=marked.photo.garment.letter if marked.photo.garment else "",
            jpeg=thumbnail(marked.photo, MARKED_SIDE),
            marked=marked,
        )
        for marked in photos
        if _is_there(marked.photo)
    ]


def thumbnail(photo: Photo, side: int) -> bytes:
    with photo.file.open("rb") as file:
        return shrunk(file, side)


def _is_there(photo: Photo) -> bool:
    return bool(photo.file.storage.exists(str(photo.file)))
