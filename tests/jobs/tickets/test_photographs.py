"""Photographs of a drop-off that is never saved do not stay."""

from datetime import timedelta
from uuid import uuid4

import pytest

from jobs.tickets.actions import photographs
from jobs.tickets.models import Photo
from studio.shop import clock
from studio.shop.history import Step
from studio.shop.pictures import redraw
from tests.factories import GarmentFactory
from tests.histories import undo_last
from tests.studio.shop.test_pictures import drawn, upload


def kept(days: int, **facts) -> Photo:
    photo = photographs.keep(upload(drawn("JPEG")), form_key=uuid4())
    taken_at = clock.now() - timedelta(days=days)
    Photo.objects.filter(pk=photo.pk).update(taken_at=taken_at, **facts)
    return photo


@pytest.mark.postgres
def test_what_no_ticket_came_of_is_thrown_away_with_its_file(studio):
    forgotten, fresh = kept(3), kept(1)
    of_a_garment = kept(9, garment=GarmentFactory())

    last = kept(0)

    assert set(Photo.objects.all()) == {fresh, of_a_garment, last}
    assert not forgotten.file.storage.exists(forgotten.file.name)
    assert fresh.file.storage.exists(fresh.file.name)


def test_a_refused_photograph_leaves_no_file(studio, owner, monkeypatch, settings, tmp_path):
    """The row is written first; where anything after it fails, the file goes with the row."""
    settings.MEDIA_ROOT = tmp_path
    garment = GarmentFactory()
    picture = redraw(upload(drawn("JPEG")))

    def fail(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr(Step, "changes", fail)
    with pytest.raises(RuntimeError):
        photographs.add(picture, garment=garment, by=owner)
    assert not Photo.objects.exists()
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


@pytest.mark.usefixtures("studio")
def test_an_undone_photograph_leaves_no_file(owner, django_capture_on_commit_callbacks):
    garment = GarmentFactory()
    photo = photographs.add(redraw(upload(drawn("JPEG"))), garment=garment, by=owner)
    assert photo.file.storage.exists(photo.file.name)
    with django_capture_on_commit_callbacks(execute=True):
        undo_last(garment.ticket, owner)
    assert not Photo.objects.exists()
    assert not photo.file.storage.exists(photo.file.name)
