"""A second place for copies in a store that speaks S3, reached by the ``minio`` library."""

from pathlib import Path

import urllib3
from minio import Minio
from minio.error import MinioException, S3Error
from urllib3.exceptions import HTTPError

from studio.backup.core import archive
from studio.backup.core.manifest import BackupError
from studio.backup.options import Options

PATIENCE = urllib3.Timeout(connect=10, read=60)
STORE = {
    "InvalidAccessKeyId": "The store does not know this access key",
    "SignatureDoesNotMatch": "The store refuses the secret key",
    "AccessDenied": "The store does not let this key in",
    "NoSuchBucket": "The store has no such bucket",
    "QuotaExceeded": "The store is full",
    "XMinioStorageFull": "The store is full",
}


class _store_in_words:  # noqa: N801 -- reads as a verb, after ``with``
    def __enter__(self) -> None: ...

    def __exit__(self, kind: object, wrong: BaseException | None, trace: object) -> None:
        if isinstance(wrong, S3Error):
            words = STORE.get(wrong.code or "", f"The store refused: {wrong.message}")
            raise BackupError(f"{words}.") from wrong
        if isinstance(wrong, HTTPError | OSError):
            raise BackupError("The store cannot be reached.") from wrong
        if isinstance(wrong, MinioException | ValueError):
            raise BackupError(f"The store cannot be used: {wrong}.") from wrong


class Store:
    """A bucket of the store, and a folder in it where one is named."""

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
