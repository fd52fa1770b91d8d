"""Photographs of a drop-off that is never saved do not stay."""

from datetime import timedelta
from uuid import uuid4

from jobs.tickets.actions import photographs
from jobs.tickets.models import Photo
from studio.shop import clock
from tests.factories import GarmentFactory
from tests.studio.shop.test_pictures import drawn, upload


def kept(days: int, **facts) -> Photo:
    photo = photographs.keep(upload(drawn("JPEG")), form_key=uuid4())
    taken_at = clock.now() - timedelta(days=days)
    Photo.objects.filter(pk=photo.pk).update(taken_at=taken_at, **facts)
    return photo


def test_what_no_ticket_came_of_is_thrown_away_with_its_file(studio):
    forgotten, fresh = kept(3), kept(1)
    of_a_garment = kept(9, garment=GarmentFactory())

    last = kept(0)

    assert set(Photo.objects.all()) == {fresh, of_a_garment, last}
    assert not forgotten.file.storage.exists(forgotten.file.name)
    assert fresh.file.storage.exists(fresh.file.name)
