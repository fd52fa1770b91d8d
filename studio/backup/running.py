"""Who uses the data folder: each server holds it with the others, a restore alone."""

import fcntl
import os
from pathlib import Path

from studio.backup.options import data_folder

_held: dict[Path, int] = {}


def hold() -> None:
    """Use the data folder until this process ends, however it ends. Twice is once.

    Waits while somebody brings a copy back.
    """
    path = data_folder() / "running.lock"
    if path not in _held:
        _held[path] = _open(path)
        fcntl.flock(_held[path], fcntl.LOCK_SH)


def take_alone() -> int | None:
    """The folder for this process alone, until the handle is closed; None while it is in use."""
    handle = _open(data_folder() / "running.lock")
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(handle)
        return None
    return handle


def _open(path: Path) -> int:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    return os.open(path, os.O_CREAT | os.O_RDWR, 0o600)


def let_go() -> None:
    """Leave the data folder before this process ends."""
    while _held:
        os.close(_held.popitem()[1])
