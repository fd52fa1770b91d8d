"""Who is to stay erased, also after a copy of an earlier day was brought back.

The list lies beside the data and outside of what is restored. A line is a moment and the client's
key, which is drawn by chance and says nothing of anybody to who does not have the studio's data.
In a store that several machines share each line is a file of its own, so that none is lost where
two write at once.
"""

import io
import os
from collections.abc import Iterable
from datetime import UTC
from pathlib import Path
from uuid import UUID

from studio.backup import options
from studio.backup.options import data_folder
from studio.shop import clock

START = "erasures/"


def ledger() -> Path:
    return data_folder() / "erasures.txt"


def text() -> str:
    """The whole list, a line for each key; empty where there is none."""
    store = options.store()
    if store is None:
        return ledger().read_text() if ledger().exists() else ""
    keys = [(each.last_modified, store.named(each)) for each in store.listed(START)]
    return "".join(
        f"{moment.astimezone(UTC):%Y-%m-%dT%H:%M:%S+00:00} {name.removeprefix(START)}\n"
        for moment, name in sorted(keys)
    )


def remember(keys: Iterable[UUID]) -> None:
    """Add the keys that are not there yet; on the disk when this returns."""
    fresh = sorted(set(keys) - set(erased()), key=str)
    if not fresh:
        return
    if store := options.store():
        for key in fresh:
            store.put(f"{START}{key}", io.BytesIO(), 0)
        return
    moment = clock.now().astimezone(UTC).isoformat(timespec="seconds")
    handle = os.open(ledger(), os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600)
    with os.fdopen(handle, "a") as file:
        file.writelines(f"{moment} {key}\n" for key in fresh)
        file.flush()
        os.fsync(file.fileno())


def erased() -> list[UUID]:
    """The keys in the list. A line that was cut off in the middle is no key."""
    keys = []
    for line in text().splitlines():
        try:
            keys.append(UUID(line.split()[-1]))
        except (ValueError, IndexError):
            continue
    return keys
