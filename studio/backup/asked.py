"""A copy that the owner asked to have put back: done at the next start, before the studio opens.

What was asked for is a file of the data folder, because the rows are what is replaced. It goes when
the copy is in place (``restore.finish``), or stays with the reason why nothing was changed.
"""

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from studio.backup import databases, options

MOST_TRIES = 3
PUT_ASIDE = "before-restore"
"""In the name of the copy of what was there, and of the folder in which that is kept."""


@dataclass(frozen=True)
class AskedRestore:
    """``tries`` that were begun; ``wrong`` is a sentence on why the last one changed nothing."""

    name: str
    tries: int = 0
    wrong: str = ""


def _file() -> Path:
    return options.data_folder() / "restore-asked.json"


def load() -> AskedRestore | None:
    try:
        return AskedRestore(**json.loads(_file().read_text()))
    except FileNotFoundError:
        return None


def save(asked: AskedRestore) -> None:
    options.write_anew(_file(), json.dumps(asdict(asked)).encode())


def forget() -> None:
    _file().unlink(missing_ok=True)


def is_possible() -> bool:
    """Where one machine has the data alone. Elsewhere every process has to be closed first."""
    return databases.kind_of() == "sqlite"


def put_aside() -> Path | None:
    """The folder of what the latest restore took the place of."""
    folders = [*options.data_folder().glob(f"{PUT_ASIDE}-*")]
    return max(folders, default=None)
