"""The second place: a folder with its mark, and a store that speaks S3, on this machine."""

import errno
from pathlib import Path
from typing import Any

import pytest

from studio.backup import erasures, options, second, write
from studio.backup.core import archive
from studio.backup.core.manifest import BackupError
from studio.backup.core.retention import KeepRule
from studio.backup.models import Backup, Kind
from studio.backup.options import Options
from studio.shop import clock
from tests.studio.backup.conftest import held

pytestmark = pytest.mark.any_day


@pytest.fixture
def copy(data: Path) -> Path:
    path = options.copies_folder() / "studio-2026-03-11T020013Z.zip"
    path.write_bytes(b"PK" * 300_000)
    return path


def filled(copy: Path) -> Backup:
    row = Backup.objects.create(kind=Kind.HAND, started_at=clock.now(), name=copy.name)
    second.fill(row, lambda names: write.droppable(names, set(), KeepRule(1, 1, 1)))
    return row


@pytest.mark.django_db
def test_a_folder_gets_each_copy_and_the_list_of_erasures(copy: Path, tmp_path: Path):
    stick = tmp_path / "stick"
    stick.mkdir()
    second.Folder(str(stick)).claim()
    options.save(Options(place="folder", folder=str(stick)))
    (stick / "studio-2026-03-10T020013Z.zip").write_bytes(b"yesterday")
    (stick / "holiday.zip").write_bytes(b"not ours")
    erasures.ledger().write_text("2026-03-11 no key\n")
    row = filled(copy)
    assert (row.second, row.second_at) == ("", clock.now())
    assert (stick / copy.name).read_bytes() == copy.read_bytes()
    assert (stick / copy.name).stat().st_mode & 0o777 == 0o600
    assert {path.name for path in stick.iterdir()} == {
        copy.name, "erasures.txt", "holiday.zip", second.MARK
    }  # fmt: skip


@pytest.mark.django_db
def test_what_is_wrong_with_the_folder_is_said_and_the_first_copy_stays(
    copy: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    stick = tmp_path / "stick"
    stick.mkdir()
    options.save(Options(place="folder", folder=str(stick)))
    # An empty mount point: the stick was pulled out.
    assert filled(copy).second == "The folder is not there, or it is not the one you named."
    assert list(stick.iterdir()) == []
    second.Folder(str(stick)).claim()

    def full(*_: Any) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(second.shutil, "copyfileobj", full)
        row = filled(copy)
    assert row.second == "The disk is full."
    assert row.second_at is None
    assert {path.name for path in stick.iterdir()} == {second.MARK}
    with monkeypatch.context() as patch:
        digests = iter(["one", "other"])
        patch.setattr(archive, "digest_of", lambda _: next(digests))
        assert "reads back as something else" in filled(copy).second
    assert copy.exists()


@pytest.mark.django_db
@pytest.mark.real_time
def test_a_store_gets_each_copy_and_old_ones_go(copy: Path, store: str):
    from studio.backup.store import Store

    chosen = Options(
        place="s3", endpoint=store, bucket="copies", access_key="who", secret_key="knows",
        subfolder="studio",
    )  # fmt: skip
    with pytest.raises(BackupError, match="no such bucket"):
        Store(chosen).claim()
    Store(chosen).there.client.make_bucket("copies")
    Store(chosen).claim()
    options.save(chosen)
    assert filled(copy).second == ""
    assert held(store) == {f"studio/{copy.name}": copy.read_bytes()}
    newer = copy.with_name("studio-2026-03-12T020013Z.zip")
    newer.write_bytes(b"PK newer")
    assert filled(newer).second == ""
    assert held(store) == {f"studio/{newer.name}": b"PK newer"}


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("InvalidAccessKeyId", "The store does not know this access key."),
        ("SignatureDoesNotMatch", "The store refuses the secret key."),
        ("AccessDenied", "The store does not let this key in."),
        ("NoSuchBucket", "The store has no such bucket."),
        ("XMinioStorageFull", "The store is full."),
        ("SlowDown", "The store refused: it said so"),
    ],
)
def test_what_a_store_refuses_is_said(
    copy: Path, monkeypatch: pytest.MonkeyPatch, code: str, words: str
):
    """The codes are those of the S3 API reference, "Error responses"."""
    import minio

    def refuse(*_: Any, **__: Any) -> None:
        raise minio.S3Error(
            response=None, code=code, message="it said so", resource=None, request_id=None,
            host_id=None, bucket_name="copies", object_name=None,
        )  # fmt: skip

    monkeypatch.setattr(minio.Minio, "fput_object", refuse)
    options.save(Options(place="s3", endpoint="http://127.0.0.1:9", bucket="copies",
                         access_key="who", secret_key="knows"))  # fmt: skip
    assert filled(copy).second.startswith(words)


@pytest.mark.django_db
def test_a_store_that_is_not_there_is_said(copy: Path):
    for endpoint in ("http://127.0.0.1:9", "nowhere"):
        options.save(Options(place="s3", endpoint=endpoint, bucket="copies",
                             access_key="who", secret_key="knows"))  # fmt: skip
        assert "The store cannot be" in filled(copy).second
