"""The second place of the copies: a folder, such as a stick's, or a store that speaks S3.

What goes wrong there is said and never keeps the first copy from being made.
"""

import errno
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

import urllib3
from minio import Minio
from minio.error import MinioException, S3Error
from urllib3.exceptions import HTTPError

from studio.backup import erasures, options
from studio.backup.core import archive
from studio.backup.core.manifest import BackupError
from studio.backup.models import Backup
from studio.backup.options import Options
from studio.shop import clock

MARK = "sewing-studio-copies.txt"
MARK_WORDS = (
    "Copies of a sewing studio are kept in this folder. This file says that it is the one.\n"
)
PATIENCE = urllib3.Timeout(connect=10, read=60)
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
STORE = {
    "InvalidAccessKeyId": "The store does not know this access key",
    "SignatureDoesNotMatch": "The store refuses the secret key",
    "AccessDenied": "The store does not let this key in",
    "NoSuchBucket": "The store has no such bucket",
    "QuotaExceeded": "The store is full",
    "XMinioStorageFull": "The store is full",
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


class Store:
    """A bucket of a store that speaks S3, reached by the ``minio`` library."""

    def __init__(self, opts: Options) -> None:
        address = urllib3.util.parse_url(opts.endpoint)
        self.bucket = opts.bucket
        self.prefix = f"{opts.subfolder.strip('/')}/" if opts.subfolder.strip("/") else ""
        with _store_in_words():
            self.client = Minio(
                address.netloc or opts.endpoint,
                access_key=opts.access_key,
                secret_key=opts.secret_key,
                secure=address.scheme != "http",
                region=opts.region or "us-east-1",
                http_client=urllib3.PoolManager(timeout=PATIENCE, retries=False),
            )

    def claim(self) -> None:
        """Whether the store can be reached at all, and has the bucket."""
        with _store_in_words():
            if not self.client.bucket_exists(self.bucket):
                raise BackupError(f"{STORE['NoSuchBucket']}.")

    def put(self, path: Path) -> None:
        with _store_in_words():
            name = self.prefix + path.name
            self.client.fput_object(self.bucket, name, str(path))
            answer = self.client.get_object(self.bucket, name)
            try:
                if archive.digest(answer) != archive.digest_of(path):
                    raise BackupError("What was written there reads back as something else.")
            finally:
                answer.close()
                answer.release_conn()

    def names(self) -> list[str]:
        with _store_in_words():
            found = self.client.list_objects(self.bucket, prefix=f"{self.prefix}studio-")
            return [str(each.object_name).removeprefix(self.prefix) for each in found]

    def remove(self, name: str) -> None:
        with _store_in_words():
            self.client.remove_object(self.bucket, self.prefix + name)


class _disk_in_words:  # noqa: N801 -- reads as a verb, after ``with``
    def __enter__(self) -> None: ...

    def __exit__(self, kind: object, wrong: BaseException | None, trace: object) -> None:
        if isinstance(wrong, OSError):
            words = DISK.get(wrong.errno or 0, wrong.strerror or "The disk refused")
            raise BackupError(f"{words}.") from wrong


class _store_in_words:  # noqa: N801 -- as above
    def __enter__(self) -> None: ...

    def __exit__(self, kind: object, wrong: BaseException | None, trace: object) -> None:
        if isinstance(wrong, S3Error):
            words = STORE.get(wrong.code or "", f"The store refused: {wrong.message}")
            raise BackupError(f"{words}.") from wrong
        if isinstance(wrong, HTTPError | OSError):
            raise BackupError("The store cannot be reached.") from wrong
        if isinstance(wrong, MinioException | ValueError):
            raise BackupError(f"The store cannot be used: {wrong}.") from wrong


def place_of(opts: Options) -> SecondPlace | None:
    if opts.place == "folder":
        return Folder(opts.folder)
    return Store(opts) if opts.place == "s3" else None


def fill(row: Backup, old: Callable[[list[str]], list[str]]) -> None:
    """Put a copy there too, and the list of erasures; remove what ``old`` names of those there."""
    try:
        place = place_of(options.load())
        if place is None:
            return
        place.put(options.copies_folder() / row.name)
        if erasures.ledger().exists():
            place.put(erasures.ledger())
        for name in old(place.names()):
            place.remove(name)
    except BackupError as error:
        row.second = str(error)[:300]
    else:
        row.second, row.second_at = "", clock.now()
    row.save(update_fields=["second", "second_at"])
