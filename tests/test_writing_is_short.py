"""Nobody waits for a writer who makes a hash, reads a picture or fills a store meanwhile.

The atomic blocks that Django counts for the connection say who writes; the test's own were there
before.
"""

import hashlib
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.hashers import MD5PasswordHasher
from django.core.files.storage import Storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse
from PIL.ImageFile import ImageFile

from jobs.counter.year import bookbinder
from jobs.makes.models import JournalBook
from jobs.tickets.actions import photographs
from jobs.tickets.actions.agree import give_initials
from jobs.tickets.models import Photo
from studio.shop.doors import actions as doors
from studio.shop.models import User
from studio.shop.paper import issued_paper
from studio.shop.pictures import redraw
from tests import own_factories
from tests.drafts import received
from tests.factories import PASSWORD, UserFactory
from tests.jobs.makes.ideas.conftest import file_of
from tests.studio.shop.first_run_form import Fields
from tests.studio.shop.test_pictures_ink import drawn

pytestmark = pytest.mark.django_db

SLOW = [
    (MD5PasswordHasher, "encode"),
    (hashlib, "pbkdf2_hmac"),
    (ImageFile, "load"),
    (Storage, "save"),
]


@pytest.fixture
def done(monkeypatch: pytest.MonkeyPatch) -> dict[str, set[bool]]:
    """Of each slow thing that was done, whether it was done while somebody wrote."""
    before, done = len(connection.atomic_blocks), {}

    def watched(name: str, slow: Callable[..., Any]) -> Callable[..., Any]:
        def watching(*args: object, **options: object) -> object:
            done.setdefault(name, set()).add(len(connection.atomic_blocks) > before)
            return slow(*args, **options)

        return watching

    for owner, name in SLOW:
        monkeypatch.setattr(owner, name, watched(name, getattr(owner, name)))
    return done


@pytest.mark.postgres
def test_passwords_and_codes_are_hashed_before_anything_is_written(owner_client, owner, done):
    typed = {"new_password1": "spool-of-silk", "new_password2": "spool-of-silk"}
    new = {"first_name": "Ida", "username": "ida", "role": "helper"}
    passwords = {"password1": "spool-of-silk", "password2": "spool-of-silk"}
    owner_client.post(reverse("studio-person-new"), new | passwords)
    ida = User.objects.get(username="ida")
    owner_client.post(reverse("studio-person-password", args=[ida.pk]), typed)
    owner_client.post(reverse("password"), typed | {"old_password": PASSWORD})
    owner.refresh_from_db()
    assert ida.check_password("spool-of-silk")
    assert owner.check_password("spool-of-silk")
    codes = doors.add_app(user=ida, secret="GEZDGNBVGY3TQOJQ", step=1)
    codes = [*codes, *doors.make_codes(user=ida)]
    assert len(codes) == 20
    doors.use_code(user=ida, code=codes[-1])
    UserFactory(username="mara")
    client = Client()
    client.post(reverse("login"), {"username": "mara", "password": PASSWORD})
    assert "_auth_user_id" in client.session
    assert done == {"encode": {False}, "pbkdf2_hmac": {False}}


def test_a_picture_is_read_before_anything_is_written(owner_client, done):
    """One that cannot be read is refused all the same, and the card says why."""
    cards = [
        ("cloth-edit", own_factories.ClothFactory(), "swatch"),
        ("pattern-edit", own_factories.PatternFactory(), "photo"),
        ("release-edit", own_factories.ReleaseFactory(), "photo"),
    ]
    done.clear()
    for name, row, picture in cards:
        address = reverse(name, args=[row.pk])
        fields = Fields.of(owner_client.get(address).text) | {"pattern": ""}
        nothing = SimpleUploadedFile("torn.jpg", b"no picture", "image/jpeg")
        refused = owner_client.post(address, fields | {picture: nothing})
        assert "This is no picture that can be read." in refused.text
        saved = owner_client.post(address, fields | {picture: file_of("JPEG", "w.jpg")})
        assert saved.status_code == 302, (name, saved.context["form"].errors)
        row.refresh_from_db()
        kept = row.swatch if picture == "swatch" else row.picture
        assert kept.width == 60
        assert kept.file.storage.exists(kept.small_file)
    assert done == {"load": {False}, "save": {False}}


def test_what_is_signed_photographed_or_printed_is_stored_before_anything_is_written(
    studio, owner, done
):
    """The cases of the history watch each picture of own sewing."""
    ticket = received(studio, owner)
    garment, agreement = ticket.garments.get(), ticket.agreements.get()
    photographs.keep(file_of("JPEG", "coat.jpg"), form_key=uuid4())
    photographs.add(redraw(file_of("JPEG", "coat.jpg")), garment=garment, by=owner)
    give_initials(agreement=agreement, way="glass", letters="MT", ink=drawn(), by=owner)
    issued_paper(agreement, "paper", "Claim ticket", lambda: b"%PDF-1.7")
    bookbinder.ask_for(year=2026, page="A5")
    bookbinder.build_all()
    assert JournalBook.objects.get().state == "done"
    kept = [Photo.objects.first(), Photo.objects.last(), agreement.initials, agreement.paper]
    for row in [*kept, JournalBook.objects.get()]:
        assert row.file.storage.exists(row.file.name)
    assert done == {"load": {False}, "save": {False}}
