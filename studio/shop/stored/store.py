"""Files in a store that speaks S3, reached by the ``minio`` library: for several machines.

``STUDIO_FILES`` names it. One bucket has the stored files below ``files/`` and the studio's copies
below ``backups/``; a folder in the bucket may stand before both.
"""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from tempfile import SpooledTemporaryFile
from typing import IO, TYPE_CHECKING, Any, BinaryIO, cast

import urllib3
from django.core.files.base import File
from django.core.files.storage import Storage
from minio import Minio
from minio.error import MinioException, S3Error
from urllib3.exceptions import HTTPError

from studio.shop.stored.files import StoreError

PATIENCE = urllib3.Timeout(connect=10, read=60)
MOST_IN_MEMORY = 4 * 1024 * 1024
PIECE = 1024 * 1024
WORDS = {
    "InvalidAccessKeyId": "The store does not know this access key",
    "SignatureDoesNotMatch": "The store refuses the secret key",
    "AccessDenied": "The store does not let this key in",
    "NoSuchBucket": "The store has no such bucket",
    "QuotaExceeded": "The store is full",
    "XMinioStorageFull": "The store is full",
}


@contextmanager
def in_words() -> Iterator[None]:
    try:
        yield
    except S3Error as wrong:
        if wrong.code == "NoSuchKey":
            raise FileNotFoundError(wrong.resource) from wrong
        words = WORDS.get(wrong.code or "", f"The store refused: {wrong.message}")
        raise StoreError(f"{words}.") from wrong
    except StoreError:
        raise
    except (HTTPError, ConnectionError) as wrong:
        raise StoreError("The store cannot be reached.") from wrong
    except (MinioException, ValueError) as wrong:
        raise StoreError(f"The store cannot be used: {wrong}.") from wrong


class StoreBucket:
    """A bucket of the store, and a folder in it where one is named.

    Each method raises StoreError, and FileNotFoundError where there is no file of that name.
    """

    def __init__(
        self,
        endpoint: str,
        bucket: str,
        *,
        folder: str = "",
        region: str = "",
        access_key: str = "",
        secret_key: str = "",
    ) -> None:
        address = urllib3.util.parse_url(endpoint)
        self.bucket = bucket
        self.prefix = f"{folder.strip('/')}/" if folder.strip("/") else ""
        with in_words():
            self.client = Minio(
                address.netloc or endpoint,
                access_key=access_key,
                secret_key=secret_key,
                secure=address.scheme != "http",
                region=region or "us-east-1",
                http_client=urllib3.PoolManager(timeout=PATIENCE, retries=False, maxsize=8),
            )

    def is_there(self) -> bool:
        with in_words():
            return bool(self.client.bucket_exists(self.bucket))

    def put(self, name: str, content: "BinaryIO | File[bytes]", size: int) -> None:
        with in_words():
            self.client.put_object(self.bucket, self.prefix + name, cast("BinaryIO", content), size)

    @contextmanager
    def reader(self, name: str) -> Iterator[urllib3.BaseHTTPResponse]:
        with in_words():
            answer = self.client.get_object(self.bucket, self.prefix + name)
            try:
                yield answer
            finally:
                answer.close()
                answer.release_conn()

    def get(self, name: str) -> IO[bytes]:
        """The whole file, opened at its beginning; it vanishes when it is closed."""
        target = SpooledTemporaryFile(max_size=MOST_IN_MEMORY)  # noqa: SIM115 -- the caller closes it
        with self.reader(name) as source:
            while piece := source.read(PIECE):
                target.write(piece)
        target.seek(0)
        return cast("IO[bytes]", target)

    def facts(self, name: str) -> tuple[int, datetime]:
        """Its size in bytes and when it was written."""
        with in_words():
            found = self.client.stat_object(self.bucket, self.prefix + name)
        return int(found.size or 0), cast("datetime", found.last_modified)

    def listed(self, start: str = "", *, deep: bool = True) -> Iterator[Any]:
        """What begins with ``start``; folders too, whose names end in ``/``, unless ``deep``."""
        with in_words():
            yield from self.client.list_objects(
                self.bucket, prefix=self.prefix + start, recursive=deep
            )

    def named(self, found: Any) -> str:
        return str(found.object_name).removeprefix(self.prefix)

    def remove(self, name: str) -> None:
        with in_words():
            self.client.remove_object(self.bucket, self.prefix + name)


if TYPE_CHECKING:
    Base = File[bytes]
else:
    Base = File


class StoreFile(Base):
    """Fetched when it is opened, and anew when it is opened once more."""

    def __init__(self, files: StoreBucket, name: str) -> None:
        super().__init__(files.get(name), name)
        self.files = files

    def open(self, mode: str | None = None, *args: Any, **kwargs: Any) -> "StoreFile":
        if self.closed:
            self.file = self.files.get(str(self.name))
        self.seek(0)
        return self


class StoreStorage(Storage):
    """Django's storage on a bucket. No file is ever written over, and none has an address."""

    def __init__(self, **place: str) -> None:
        self.files = StoreBucket(**place)

    def _open(self, name: str, mode: str = "rb") -> "File[bytes]":
        if mode != "rb":
            raise ValueError("A file in the store is only read.")
        return StoreFile(self.files, name)

    def _save(self, name: str, content: "File[bytes]") -> str:
        data = content.read()
        self.files.put(name, io.BytesIO(data), len(data))
        return name

    def delete(self, name: str) -> None:
        self.files.remove(name)

    def exists(self, name: str) -> bool:
        try:
            self.files.facts(name)
        except FileNotFoundError:
            return False
        return True

    def size(self, name: str) -> int:
        return self.files.facts(name)[0]

    def get_modified_time(self, name: str) -> datetime:
        return self.files.facts(name)[1]

    def listdir(self, path: str) -> tuple[list[str], list[str]]:
        start = f"{path.strip('/')}/" if path.strip("/") else ""
        folders, names = [], []
        for found in self.files.listed(start, deep=False):
            name = self.files.named(found).removeprefix(start)
            if name.endswith("/"):
                folders.append(name.rstrip("/"))
            elif name:
                names.append(name)
        return folders, names
