"""Photographs of a ticket's garments, small enough for paper."""

import io

from django.db.models import F
from PIL import Image

from jobs.tickets.models import Photo, Ticket

SIDE = 480  # pixels; 26 mm of paper at more than 400 dots per inch
MOST = 6  # of one garment


def photographs(ticket: Ticket) -> dict[str, list[bytes]]:
    """The first few JPEGs of each garment by its letter. One whose file is gone is left out."""
    found: dict[str, list[bytes]] = {}
    photos = Photo.objects.filter(garment__ticket=ticket).annotate(letter=F("garment__letter"))
    for photo in photos:
        shown = found.get(photo.letter, [])
        if len(shown) < MOST and photo.file.storage.exists(str(photo.file)):
            found[photo.letter] = [*shown, thumbnail(photo)]
    return found


def thumbnail(photo: Photo) -> bytes:
    small = io.BytesIO()
    with photo.file.open("rb") as file:
        image = Image.open(file, formats=["JPEG"])
        # Decoded at a fraction of its size, which is quick.
        image.draft("RGB", (SIDE, SIDE))
        image.thumbnail((SIDE, SIDE))
        image.convert("RGB").save(small, "JPEG", quality=80)
    return small.getvalue()
