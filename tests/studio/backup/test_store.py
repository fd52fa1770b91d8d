"""Photographs, papers and copies in a store that speaks S3, on this machine.

``moto`` has its own account of S3, and what lies there is read by ``boto3``, another library than
the one that the program writes with.
"""

import hashlib
import threading
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.urls import reverse

from studio import env
from studio.backup import erasures, options, restore, running, shelf, write
from studio.backup.core.manifest import BackupError
from studio.backup.models import Kind
from studio.backup.moving import move_files
from studio.shop import clock, doctor
from studio.shop.models import Profile, StoredPaper, User
from studio.shop.paper import serve_paper, store_paper
from studio.shop.stored.files import StoreError, atomic_with_files
from tests import factories as f
from tests.drafts import paid, received
from tests.studio.backup.conftest import held

pytestmark = [pytest.mark.any_day, pytest.mark.real_time]


@pytest.fixture
def shared(store: str, data: Path, settings: LazySettings, monkeypatch: pytest.MonkeyPatch) -> str:
    """The program with its files in a bucket of this test alone, as the environment says it."""
    bucket = f"b{hashlib.sha256(str(data).encode()).hexdigest()[:12]}"
    for name, value in {"": f"{store}/{bucket}/studio/", "_KEY": "who", "_SECRET": "knows"}.items():
        monkeypatch.setenv(f"STUDIO_FILES{name}", value)
    settings.STORE = env.store("STUDIO_FILES")
    there: Any = options.store()
    there.client.make_bucket(bucket)
    settings.STORAGES = settings.STORAGES | {
        "default": {
            "BACKEND": "studio.shop.stored.store.StoreStorage",
            "OPTIONS": settings.STORE | {"folder": "studio/files"},
        }
    }
    return bucket


def test_a_storage_as_django_wants_it(shared: str, store: str):
    name = default_storage.save("photos/2026/03/one.jpg", ContentFile(b"hem"))
    assert name == "photos/2026/03/one.jpg"
    other = default_storage.save(name, ContentFile(b"another"))
    assert other != name
    assert held(store, shared) == {
        f"studio/files/{name}": b"hem",
        f"studio/files/{other}": b"another",
    }
    assert (default_storage.exists(name), default_storage.size(other)) == (True, 7)
    with default_storage.open(name) as file:
        assert (file.read(), file.seek(1), file.read()) == (b"hem", 1, b"em")
    assert default_storage.listdir("") == (["photos"], [])
    folders, names = default_storage.listdir("photos/2026/03")
    assert (folders, set(names)) == ([], {"one.jpg", Path(other).name})
    assert clock.now() - default_storage.get_modified_time(name) < timedelta(days=4000)
    default_storage.delete(name)
    default_storage.delete(name)
    assert not default_storage.exists(name)
    with pytest.raises(FileNotFoundError):
        default_storage.open(name)


@pytest.fixture
def filled(transactional_db: None, studio: Profile, owner: User, shared: str) -> StoredPaper:
    ticket = received(studio, owner)
    paid(studio, owner, ticket, 1050)
    f.PhotoFactory(garment=ticket.garments.get())
    with atomic_with_files():
        return store_paper("Receipt", b"%PDF-1.7 receipt")


def test_a_copy_lies_in_the_store_and_files_come_back(
    filled: StoredPaper,
    shared: str,
    store: str,
    data: Path,
    owner_client: Client,
    monkeypatch: pytest.MonkeyPatch,
):
    """One walk: copied, listed, fetched; a file that is gone or another comes back; none goes."""
    assert not (data / "files").exists()
    assert doctor.strays() == doctor.Strays([], [])
    row = write.back_up(Kind.HAND)
    assert row is not None
    assert row.good, row.wrong
    assert list(shelf.sizes().items()) == [(row.name, row.size)]
    assert list((data / "backups").iterdir()) == []
    kept = held(store, shared)[f"studio/backups/{row.name}"]
    assert len(kept) == row.size
    assert row.name in owner_client.get(reverse("backups")).text
    answer = owner_client.get(reverse("backup-file", args=[row.name]))
    assert b"".join(answer) == kept
    monkeypatch.setattr(restore, "bring_up_to_date", lambda *_: None)
    call_command("restore", row.name, "--check")

    paper, photo = str(filled.file), str(f.PhotoFactory._meta.model.objects.get().file)
    with default_storage.open(photo) as file:
        picture = file.read()
    default_storage.delete(photo)
    default_storage.delete(paper)
    default_storage.save(paper, ContentFile(b"forged"))
    default_storage.save("papers/since.pdf", ContentFile(b"made since"))
    assert serve_paper(filled).status_code == 500
    with shelf.at_hand(row.name) as path:
        restore.unpack(path, data / "restored")
    restore._put_into_the_store(data / "restored", data / "before-restore-x")
    assert serve_paper(filled).content == b"%PDF-1.7 receipt"
    there = held(store, shared)
    assert there[f"studio/files/{photo}"] == picture
    assert there["studio/files/papers/since.pdf"] == b"made since"
    assert there[f"studio/before-restore-x/{paper}"] == b"forged"


def test_what_the_machines_share_lies_in_the_store_and_tells_it_nothing(
    shared: str, store: str, settings: LazySettings, data: Path
):
    chosen = options.Options(place="folder", folder="/media/stick", identity="AGE-SECRET-KEY-1")
    assert options.load() == options.Options()
    options.save(chosen)
    assert options.load() == chosen
    keys = [f.ClientFactory.build().erasure_key for _ in range(2)]
    erasures.remember(keys[:1])
    erasures.remember(keys)
    assert set(erasures.erased()) == set(keys)
    assert len(erasures.text().splitlines()) == 2
    there = held(store, shared)
    assert not any(word in each for each in there.values() for word in (b"stick", b"AGE-SECRET"))
    assert not (data / "backup.json").exists()
    assert not (data / "erasures.txt").exists()
    settings.SECRET_KEY = "another" * 9
    with pytest.raises(BackupError, match="another STUDIO_SECRET_KEY"):
        options.load()


def test_files_move_into_the_store_and_back_and_are_compared(shared: str, store: str, data: Path):
    folder = data / "files" / "photos"
    folder.mkdir(parents=True)
    (folder / "one.jpg").write_bytes(b"hem")
    assert move_files(back=False) == 1
    assert move_files(back=False) == 1
    assert held(store, shared) == {"studio/files/photos/one.jpg": b"hem"}
    (folder / "one.jpg").write_bytes(b"another")
    with pytest.raises(BackupError, match="one"):
        move_files(back=False)
    (folder / "one.jpg").unlink()
    assert move_files(back=True) == 1
    assert (folder / "one.jpg").read_bytes() == b"hem"
    assert (folder / "one.jpg").stat().st_mode & 0o777 == 0o600


@pytest.mark.django_db
def test_a_store_that_is_away_is_said(settings: LazySettings, data: Path, studio: Profile):
    settings.STORE = {
        "endpoint": "http://127.0.0.1:9", "bucket": "studio", "folder": "", "region": "",
        "access_key": "who", "secret_key": "knows",
    }  # fmt: skip
    settings.STORAGES = settings.STORAGES | {
        "default": {"BACKEND": "studio.shop.stored.store.StoreStorage", "OPTIONS": settings.STORE}
    }
    with pytest.raises(StoreError, match="cannot be reached"):
        default_storage.open("photos/one.jpg")
    assert doctor.cause_of(StoreError("away")) is doctor.AWAY
    finding = doctor.pictures_and_papers(studio)
    assert (finding.good, finding.words) == (False, "The store cannot be reached.")


@pytest.mark.parametrize(
    "value",
    ["s3.example/bucket", "https://s3.example", "https://s3.example/", "https://a:b@s3.example/c"],
)
def test_a_store_is_named_whole_or_refused(monkeypatch: pytest.MonkeyPatch, value: str):
    monkeypatch.setenv("STUDIO_FILES", value)
    monkeypatch.setenv("STUDIO_FILES_KEY", "who")
    monkeypatch.setenv("STUDIO_FILES_SECRET", "knows")
    with pytest.raises(env.EnvError, match="must read"):
        env.store("STUDIO_FILES")
    monkeypatch.setenv("STUDIO_FILES", "https://s3.example/bucket")
    assert env.store("STUDIO_FILES")["bucket"] == "bucket"
    monkeypatch.delenv("STUDIO_FILES_SECRET")
    with pytest.raises(env.EnvError, match="STUDIO_FILES_SECRET"):
        env.store("STUDIO_FILES")


@pytest.mark.postgres
@pytest.mark.django_db
def test_only_one_is_in_there_at_a_time(data: Path):
    """On PostgreSQL the database's server says so too, to machines that share no folder."""
    inside, out = threading.Event(), threading.Event()

    def stay() -> None:
        with running.one_at_a_time("papers"):
            inside.set()
            out.wait(20)

    thread = threading.Thread(target=stay)
    thread.start()
    assert inside.wait(20)
    running._path("papers").unlink()  # as on another machine, whose folder is another
    try:
        if is_postgres():
            with pytest.raises(BlockingIOError), running.one_at_a_time("papers", wait=False):
                pass
    finally:
        out.set()
        thread.join()
    with running.one_at_a_time("papers", wait=False):
        pass
    running.hold()
    running._path("running").unlink()
    alone = running.take_alone()
    assert (alone is None) == is_postgres()
    running.let_go()
    alone = alone or running.take_alone()
    assert alone is not None
    alone.close()


def is_postgres() -> bool:
    return connection.vendor == "postgresql"
