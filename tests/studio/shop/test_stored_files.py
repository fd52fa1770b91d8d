"""A file stands on the disk exactly when its row stands in the database."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from django.core.files.storage import storages
from django.db import IntegrityError, connection, transaction

from studio.shop.models import StoredPaper
from studio.shop.paper import issued_paper
from studio.shop.stored.files import FilePiece, StoreError, atomic_with_files, save_with_file
from tests.factories import AgreementFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(settings, tmp_path) -> Path:
    local = settings.STORAGES["default"] | {"OPTIONS": {"location": tmp_path}}
    settings.STORAGES = settings.STORAGES | {"default": local}
    return tmp_path


def files(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*") if path.is_file())


def keep(name: str = "hem.pdf", content: bytes = b"a hem", **facts) -> StoredPaper:
    paper = StoredPaper(name=name, **{"sha256": "", **facts})
    save_with_file(FilePiece(paper.file, name, content))
    return paper


def test_a_row_that_stands_has_its_file(folder):
    with atomic_with_files():
        paper = keep()
    paper.refresh_from_db()
    assert paper.file.open("rb").read() == b"a hem"
    assert files(folder) == ["hem.pdf"]


def test_two_of_one_name_are_two_files(folder):
    with atomic_with_files():
        first, second = keep(), keep(content=b"another")
    assert first.file.name != second.file.name
    assert second.file.open("rb").read() == b"another"
    assert len(files(folder)) == 2


def failing(*names: str) -> None:
    """Keep files of these names in one transaction, which then fails."""
    with atomic_with_files():
        for name in names:
            keep(name)
        raise ZeroDivisionError


def test_a_refused_row_writes_no_file(folder):
    with atomic_with_files():
        keep()

    def twin() -> None:
        with atomic_with_files():
            keep("twin.pdf", sha256=None)

    with pytest.raises(IntegrityError):
        twin()
    assert files(folder) == ["hem.pdf"]


def test_what_fails_afterwards_takes_the_files_with_it(folder):
    with pytest.raises(ZeroDivisionError):
        failing("one.pdf", "two.pdf")
    assert files(folder) == []
    assert not StoredPaper.objects.exists()


def test_so_does_an_outer_transaction_that_fails(folder):
    def outer() -> None:
        with atomic_with_files():
            with atomic_with_files():
                keep()
            assert files(folder) == ["hem.pdf"]
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        outer()
    assert files(folder) == []


def test_an_inner_one_that_fails_leaves_the_outer_file(folder):
    with atomic_with_files():
        keep("outer.pdf")
        with pytest.raises(ZeroDivisionError):
            failing("inner.pdf")
    assert files(folder) == ["outer.pdf"]
    assert StoredPaper.objects.get().name == "outer.pdf"


def test_a_disk_that_is_full_leaves_neither_row_nor_file(folder, monkeypatch):
    def full(name: str, content: object, max_length: int | None = None) -> str:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(b"a h")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(storages["default"], "save", full)
    with pytest.raises(OSError, match="No space left"), atomic_with_files():
        keep()
    assert files(folder) == []
    assert not StoredPaper.objects.exists()


def test_no_file_without_a_transaction_of_its_own(folder):
    with pytest.raises(RuntimeError, match="only inside the transaction"), transaction.atomic():
        keep()
    assert files(folder) == []


def piece(name: str = "hem.pdf", content: bytes = b"a hem") -> FilePiece:
    return FilePiece(StoredPaper(name=name, sha256="").file, name, content)


def test_a_piece_lies_there_before_its_row_and_goes_where_no_row_names_it(folder):
    hem, cuff = piece(), piece("cuff.pdf", b"a cuff")
    with atomic_with_files(hem, cuff):
        assert files(folder) == ["cuff.pdf", "hem.pdf"]
        with atomic_with_files(piece()):
            assert len(files(folder)) == 2, "what an outer one holds is there"
            save_with_file(piece())
    assert files(folder) == ["hem.pdf"]
    assert StoredPaper.objects.get().file.open("rb").read() == b"a hem"

    def refused() -> None:
        with atomic_with_files(piece(), cuff):
            save_with_file(cuff)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        refused()
    assert files(folder) == ["hem.pdf"]
    assert StoredPaper.objects.count() == 1


@pytest.mark.parametrize("broken", [{"save"}, {"save", "delete"}], ids=["fails", "is gone"])
def test_a_store_that_fails_is_said_and_no_row_names_what_is_not_there(
    studio, folder, monkeypatch, broken
):
    """The second fails: the first goes too, unless the store is gone; the sweep has it then."""
    storage, agreement = storages["default"], AgreementFactory()
    kept, begun = type(storage).save, []

    def save(self, name: str, content: object, **options: object) -> str:
        if "cuff" in name:
            raise StoreError("The store cannot be reached.")
        return kept(self, name, content, **options)

    def delete(self, name: str) -> None:
        raise StoreError("The store cannot be reached.")

    for name, fault in {"save": save, "delete": delete}.items():
        if name in broken:
            monkeypatch.setattr(type(storage), name, fault)
    with (
        pytest.raises(StoreError, match="cannot be reached"),
        atomic_with_files(piece(), piece("cuff.pdf")),
    ):
        begun.append("a transaction")
    assert begun == []
    assert files(folder) == (["hem.pdf"] if "delete" in broken else [])
    with pytest.raises(StoreError, match="cannot be reached"):
        issued_paper(agreement, "paper", "cuff", lambda: b"a cuff")
    agreement.refresh_from_db()
    assert agreement.paper is None
    assert not StoredPaper.objects.exists()


@pytest.mark.django_db(transaction=True)
@pytest.mark.only_on("sqlite")
def test_while_a_slow_store_takes_its_time_another_process_writes(studio, folder, monkeypatch):
    agreement = AgreementFactory()
    storage = storages["default"]
    kept, wrote = type(storage).save, []

    def slow(self, name: str, content: object, **options: object) -> str:
        with closing(sqlite3.connect(connection.settings_dict["NAME"], timeout=0)) as other:
            other.execute("BEGIN IMMEDIATE")
            other.execute("UPDATE shop_profile SET name = name")
            other.commit()
            wrote.append(name)
        return kept(self, name, content, **options)

    monkeypatch.setattr(type(storage), "save", slow)
    issued_paper(agreement, "paper", "Claim ticket", lambda: b"a hem")
    agreement.refresh_from_db()
    assert [agreement.paper.file.name] == wrote
