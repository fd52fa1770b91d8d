"""A second place for copies in a store that speaks S3."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from studio.backup.core import archive
from studio.backup.core.manifest import BackupError
from studio.backup.options import Options
from studio.shop.stored.files import StoreError
from studio.shop.stored.store import WORDS, StoreBucket, in_words


@contextmanager
def _as_backup_error() -> Iterator[None]:
    try:
        with in_words():
            yield
    except StoreError as error:
        raise BackupError(str(error)) from error
    except OSError as error:
        raise BackupError("The store cannot be reached.") from error


class Store:
    """A bucket of the store, and a folder in it where one is named."""

    def __init__(self, opts: Options) -> None:
        with _as_backup_error():
            self.there = StoreBucket(
                opts.endpoint, opts.bucket, folder=opts.subfolder, region=opts.region,
                access_key=opts.access_key, secret_key=opts.secret_key,
            )  # fmt: skip

    def claim(self) -> None:
        """Whether the store can be reached at all, and has the bucket."""
        with _as_backup_error():
            if not self.there.is_there():
                raise BackupError(f"{WORDS['NoSuchBucket']}.")

    def put(self, path: Path) -> None:
        with _as_backup_error():
            place = self.there
            place.client.fput_object(place.bucket, place.prefix + path.name, str(path))
            with place.reader(path.name) as answer:
                if archive.digest(answer) != archive.digest_of(path):
                    raise BackupError("What was written there reads back as something else.")

    def names(self) -> list[str]:
        with _as_backup_error():
            return [self.there.named(found) for found in self.there.listed("studio-")]

    def remove(self, name: str) -> None:
        with _as_backup_error():
            self.there.remove(name)
