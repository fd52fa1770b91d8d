"""The small copy of a picture: made once, whole, private, and swept with the picture."""

import io
from uuid import uuid4

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from jobs.makes.ideas import actions
from jobs.makes.models import Picture
from studio.shop import history
from studio.shop.pictures import redraw
from tests import factories as f
from tests.jobs.makes.ideas.conftest import file_of


def kept(size) -> Picture:
    (picture,) = actions.keep_pictures(photos=[redraw(file_of("JPEG", "top.jpg", size))])
    return picture


# Whole and in proportion: 400 on the longer side, the other by the rule of three.
@pytest.mark.parametrize(
    ("size", "small"),
    [((1200, 1600), (300, 400)), ((1600, 400), (400, 100)), ((60, 40), (60, 40))],
)
def test_a_kept_picture_has_a_small_copy_of_its_shape(owner, size, small):
    picture = kept(size)
    assert picture.small_size == small
    with default_storage.open(picture.small_file) as file:
        image = Image.open(io.BytesIO(file.read()))
    assert (image.format, image.size) == ("JPEG", small)


def test_it_is_private_kept_long_and_made_for_older_pictures_once(owner_client, client):
    picture = f.PictureFactory()
    assert not default_storage.exists(picture.small_file)
    response = owner_client.get(picture.small_address)
    body = b"".join(response.streaming_content)
    assert Image.open(io.BytesIO(body)).size == (8, 8)
    assert response["Cache-Control"] == "private, max-age=31536000, immutable"
    assert default_storage.exists(picture.small_file)
    default_storage.delete(str(picture.file))
    assert b"".join(owner_client.get(picture.small_address).streaming_content) == body
    default_storage.delete(picture.small_file)
    assert owner_client.get(picture.small_address).status_code == 404
    assert reverse("login") in client.get(picture.small_address)["Location"]


def test_it_goes_with_its_picture(owner, django_capture_on_commit_callbacks):
    picture = kept((60, 40))
    _, entry = actions.add_idea(form_key=uuid4(), pictures=[picture], by=owner)
    with django_capture_on_commit_callbacks(execute=True):
        history.undo(entry=entry, by=owner)
    assert not default_storage.exists(picture.small_file)
    assert not default_storage.exists(str(picture.file))


def test_a_small_copy_is_light_whatever_it_shows(owner):
    """Noise is what JPEG can do least about."""
    noise = io.BytesIO()
    Image.effect_noise((1200, 1600), 90).convert("RGB").save(noise, "JPEG")
    (picture,) = actions.keep_pictures(
        photos=[redraw(SimpleUploadedFile("noise.jpg", noise.getvalue()))]
    )
    assert 5_000 < default_storage.size(picture.small_file) <= 20_000
