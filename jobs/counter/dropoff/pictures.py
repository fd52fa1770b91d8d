"""Photographs are kept the moment they arrive, whatever else on the form is still wrong."""

from uuid import UUID

from django.utils.datastructures import MultiValueDict

from jobs.counter.dropoff.slate import Slate, garment_prefix
from jobs.tickets import photos
from studio.shop.pictures import PictureError


def keep_pictures(slate: Slate, files: MultiValueDict, key: UUID) -> list[int]:
    """Store what was sent and note it on its garment; returns the garments that got news.

    A file that is no picture leaves a message on its garment.
    """
    touched = []
    for index, garment in enumerate(slate.garments):
        uploads = files.getlist(f"{garment_prefix(index)}-camera")
        for upload in uploads:
            try:
                kept = photos.keep(upload, form_key=key)
            except PictureError as wrong:
                garment.wrong_pictures.append(f"{upload.name}: {wrong}")
            else:
                garment.typed.setdefault("photos", []).append(str(kept.pk))
        if uploads:
            touched.append(index)
    return touched
