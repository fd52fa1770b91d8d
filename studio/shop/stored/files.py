"""Files that belong to rows: written last in the row's transaction, swept where it fails.

A row that is refused leaves no file, and a transaction that is undone after the file was written
takes the file with it. The studio's disk then holds nobody's photograph that no row knows of.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.core.files.base import ContentFile
from django.core.files.storage import Storage
from django.db import transaction
from django.db.models.fields.files import FieldFile


class StoreError(OSError):
    """The store does not do what it is asked; the message is a sentence to show."""


Written = list[tuple[Storage, str]]

_written: ContextVar[Written | None] = ContextVar("written", default=None)


@contextmanager
def atomic_with_files() -> Iterator[None]:
    """``transaction.atomic``, inside of which ``save_with_file`` may be called."""
    outer = _written.get()
    files: Written = []
    token = _written.set(files)
    try:
        with transaction.atomic():
            yield
    except BaseException:
        for storage, name in files:
            storage.delete(name)
        raise
    finally:
        _written.reset(token)
    if outer is not None:
        outer += files


def save_with_file(file: FieldFile, name: str, content: bytes) -> None:
    """Save the row that ``file`` is of, then write ``content`` under a path made of ``name``.

    Raises RuntimeError outside of ``atomic_with_files``.
    """
    files = _files()
    row, field, storage = file.instance, file.field, file.storage
    path = storage.get_available_name(field.generate_filename(row, name), field.max_length)
    setattr(row, field.name, path)
    row.save()
    files.append((storage, path))
    if storage.save(path, ContentFile(content)) != path:
        raise FileExistsError(f"{path} was taken by another file.")


def save_beside(file: FieldFile, path: str, content: bytes) -> None:
    """Write what follows from ``file``, such as a small copy, at ``path``; it is swept likewise."""
    files, storage = _files(), file.storage
    files.append((storage, path))
    if storage.save(path, ContentFile(content)) != path:
        raise FileExistsError(f"{path} was taken by another file.")


SMALL = ".small."


def small_of(path: str) -> str:
    """Where the small copy of the file at ``path`` lies, beside it."""
    return f"{path.rpartition('.')[0]}{SMALL}jpg"


def whole_of(path: str) -> str:
    """The file that the one at ``path`` is a small copy of; else ``path`` itself."""
    stem, small, ending = path.rpartition(SMALL)
    return f"{stem}.{ending}" if small else path


def _files() -> Written:
    files = _written.get()
    if files is None:
        raise RuntimeError("A file is written only inside the transaction of its row.")
    return files
