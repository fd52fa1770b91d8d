"""Photographs of garments: kept at once, so that a wrong field elsewhere loses none."""

from datetime import timedelta
from uuid import UUID, uuid4

from django.core.files.base import ContentFile
from django.core.files.uploadedfile import UploadedFile

from jobs.tickets import verbs
from jobs.tickets.models import Garment, Photo
from studio.shop import clock
from studio.shop.history import record
from studio.shop.models import User
from studio.shop.pictures import FreshPicture, redraw

FORGOTTEN = timedelta(days=2)


def keep(upload: UploadedFile, *, form_key: UUID) -> Photo:
    """Store a redrawn photograph for the form; saving its ticket gives it to a garment.

    Those of forms that nobody has saved for `FORGOTTEN` are thrown away.
    Raises ``studio.shop.pictures.PictureError``.
    """
    photo = _store(redraw(upload))
    photo.form_key = form_key
    photo.save()
    _throw_away_forgotten()
    return photo


def add(picture: FreshPicture, *, garment: Garment, by: User) -> Photo:
    """A photograph of a garment that is already on a ticket."""
    with record(verbs.PHOTOGRAPHED, about=garment.ticket, by=by, letter=garment.letter) as step:
        photo = _store(picture)
        photo.garment = garment
        photo.save()
        step.add(photo)
    return photo


def _throw_away_forgotten() -> None:
    """A drop-off that was never saved keeps no photograph of anybody's things."""
    for photo in Photo.objects.filter(garment=None, taken_at__lt=clock.now() - FORGOTTEN):
        photo.delete()
        photo.file.delete(save=False)


def _store(picture: FreshPicture) -> Photo:
    photo = Photo(width=picture.width, height=picture.height)
    photo.file.save(f"{uuid4().hex}.jpg", ContentFile(picture.jpeg), save=False)
    return photo
