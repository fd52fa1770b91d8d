"""Where copies lie, and what the owner set about them: a second place, a passphrase.

Both are files of the data folder that only its owner may read, never rows: a copy of the rows
goes to the second place, and must not take the keys to it along. Several machines share them in
their store, locked with the studio's secret key, which the store does not have.
"""

import io
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, fields, replace
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from django.conf import settings

from studio.backup.core.archive import new_file, new_key
from studio.backup.core.manifest import BackupError

if TYPE_CHECKING:
    from studio.shop.stored.store import StoreBucket

LOCKED = "backup.json.locked"


@dataclass(frozen=True)
class Options:
    """``place`` is "", "folder" or "s3". ``identity`` opens what ``recipient`` locks.

    ``key`` is the identity locked with the owner's passphrase, as hex digits; it goes into each
    locked copy.
    """

    place: str = ""
    folder: str = ""
    endpoint: str = ""
    region: str = ""
    bucket: str = ""
    subfolder: str = ""
    access_key: str = ""
    secret_key: str = ""
    recipient: str = ""
    identity: str = ""
    key: str = ""

    @property
    def locks(self) -> bool:
        return bool(self.recipient)


def data_folder() -> Path:
    return Path(settings.DATA_DIR)


def copies_folder() -> Path:
    folder = data_folder() / "backups"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder


def store() -> "StoreBucket | None":
    """What several machines share, where the environment names it."""
    return _bucket(tuple(sorted(settings.STORE.items()))) if settings.STORE else None


@lru_cache(maxsize=1)
def _bucket(facts: tuple[tuple[str, str], ...]) -> "StoreBucket":
    # Whoever has no store is not kept waiting at each start for what talks to one.
    from studio.shop.stored.store import StoreBucket  # noqa: PLC0415

    return StoreBucket(**dict(facts))


def _file() -> Path:
    return data_folder() / "backup.json"


def load() -> Options:
    try:
        facts: dict[str, Any] = json.loads(_read())
    except FileNotFoundError:
        return Options()
    known = {field.name for field in fields(Options)}
    return Options(**{name: value for name, value in facts.items() if name in known})


def save(options: Options) -> None:
    content = json.dumps(asdict(options), indent=1).encode()
    there = store()
    if there is None:
        write_anew(_file(), content)
        return
    from minio.crypto import encrypt  # noqa: PLC0415 -- as above

    locked = encrypt(content, settings.SECRET_KEY)
    there.put(LOCKED, io.BytesIO(locked), len(locked))


def _read() -> bytes:
    there = store()
    if there is None:
        return _file().read_bytes()
    from minio.crypto import decrypt  # noqa: PLC0415 -- as above

    with there.reader(LOCKED) as answer:
        try:
            return decrypt(answer, settings.SECRET_KEY)
        except ValueError as error:
            raise BackupError(
                "Second place and passphrase were set with another STUDIO_SECRET_KEY."
            ) from error


def write_anew(path: Path, content: bytes) -> None:
    """All of it or nothing, for nobody else to read."""
    part = path.with_name(f"{path.name}.part")
    part.unlink(missing_ok=True)
    with new_file(part) as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)


def set_passphrase(passphrase: str) -> None:
    """Lock later copies with it; without one they are open. Earlier ones stay as they are."""
    identity, recipient, key = new_key(passphrase) if passphrase else ("", "", "")
    save(replace(load(), identity=identity, recipient=recipient, key=key))


@contextmanager
def working_folder() -> Iterator[Path]:
    """A folder beside the copies, of this machine's owner alone, that goes with its content."""
    with TemporaryDirectory(prefix=".working-", dir=copies_folder()) as folder:
        yield Path(folder)
