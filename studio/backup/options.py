"""Where copies lie, and what the owner set about them: a second place, a passphrase.

Both are files of the data folder that only its owner may read, never rows: a copy of the rows
goes to the second place, and must not take the keys to it along.
"""

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.conf import settings

from studio.backup.core.archive import new_file, new_key


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


def _file() -> Path:
    return data_folder() / "backup.json"


def load() -> Options:
    try:
        facts: dict[str, Any] = json.loads(_file().read_text())
    except FileNotFoundError:
        return Options()
    known = {field.name for field in fields(Options)}
    return Options(**{name: value for name, value in facts.items() if name in known})


def save(options: Options) -> None:
    write_anew(_file(), json.dumps(asdict(options), indent=1).encode())


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
