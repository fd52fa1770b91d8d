"""The second place of the copies: a folder, such as a stick's, or a store that speaks S3.

What goes wrong there is said and never keeps the first copy from being made.
"""

import errno
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from studio.backup import erasures, options, shelf
from studio.backup.core import archive
from studio.backup.core.manifest import BackupError
from studio.backup.models import Backup
from studio.backup.options import Options
from studio.shop import clock
from studio.shop.stored.files import StoreError

MARK = "sewing-studio-copies.txt"
MARK_WORDS = (
    "Copies of a sewing studio are kept in this folder. This file says that it is the one.\n"
)
DISK = {
    errno.ENOSPC: "The disk is full",
    errno.EDQUOT: "The disk is full",
    errno.EROFS: "The disk cannot be written to",
    errno.EACCES: "This program may not write there",
    errno.EPERM: "This program may not write there",
    errno.EIO: "The disk fails",
    errno.ENOENT: "The folder is not there",
    errno.ENODEV: "The disk is not there",
}


class SecondPlace(Protocol):
    """Where files are put beside the first place. Each raises BackupError with a sentence."""

    def claim(self) -> None:
        """Whether it can be used, as the owner names it."""

    def put(self, path: Path) -> None:
        """Put the file there under its own name, read it back and compare."""

    def names(self) -> list[str]: ...

    def remove(self, name: str) -> None: ...


class Folder:
    """A folder that the owner named once, by a mark: an empty mount point is not the stick."""

    def __init__(self, folder: str) -> None:
        self.folder = Path(folder)

    def claim(self) -> None:
        """Put the mark into the folder that the owner has just named."""
        with _disk_in_words():
            if not self.folder.is_dir():
                raise BackupError("The folder is not there.")
            (self.folder / MARK).write_text(MARK_WORDS)

    def put(self, path: Path) -> None:
        with _disk_in_words():
            if not (self.folder / MARK).exists():
                raise BackupError("The folder is not there, or it is not the one you named.")
            part = self.folder / f"{path.name}.part"
            part.unlink(missing_ok=True)
            try:
                with archive.new_file(part) as target, path.open("rb") as source:
                    shutil.copyfileobj(source, target, archive.PIECE)
                    target.flush()
                    os.fsync(target.fileno())
                if archive.digest_of(part) != archive.digest_of(path):
                    raise BackupError("What was written there reads back as something else.")
                part.replace(self.folder / path.name)
            finally:
                part.unlink(missing_ok=True)

    def names(self) -> list[str]:
        with _disk_in_words():
            return [path.name for path in self.folder.glob("studio-*.zip")]

    def remove(self, name: str) -> None:
        with _disk_in_words():
            (self.folder / name).unlink(missing_ok=True)


class _disk_in_words:  # noqa: N801 -- reads as a verb, after ``with``
    def __enter__(self) -> None: ...

    def __exit__(self, kind: object, wrong: BaseException | None, trace: object) -> None:
        if isinstance(wrong, OSError):
            words = DISK.get(wrong.errno or 0, wrong.strerror or "The disk refused")
            raise BackupError(f"{words}.") from wrong


def place_of(opts: Options) -> SecondPlace | None:
    if opts.place == "folder":
        return Folder(opts.folder)
    if opts.place == "s3":
        # Whoever has no store is not kept waiting at each start for what talks to one.
        from studio.backup.store import Store  # noqa: PLC0415

        return Store(opts)
    return None


def fill(row: Backup, old: Callable[[list[str]], list[str]]) -> None:
    """Put a copy there too, and the list of erasures; remove what ``old`` names of those there."""
    try:
        place = place_of(options.load())
        if place is None:
            return
        with shelf.at_hand(row.name) as path:
            place.put(path)
        if lines := erasures.text():
            with options.working_folder() as folder:
                path = folder / erasures.ledger().name
                options.write_anew(path, lines.encode())
                place.put(path)
        for name in old(place.names()):
            place.remove(name)
    except (BackupError, StoreError) as error:
        row.second = str(error)[:300]
    else:
        row.second, row.second_at = "", clock.now()
    row.save(update_fields=["second", "second_at"])
