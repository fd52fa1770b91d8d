"""Where the copies lie: in a folder beside the data, or in the store that several machines share.

In the store each copy is read back and compared before it goes from the folder that it was made in.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from django.conf import settings

from studio.backup import options
from studio.backup.core import archive
from studio.backup.core.manifest import BackupError

ALL = "studio-*.zip"
START = "backups/"


def where() -> str:
    """For the owner to read."""
    if settings.STORE:
        folder = f"{settings.STORE['folder']}/" if settings.STORE["folder"] else ""
        return f"{settings.STORE['endpoint']}/{settings.STORE['bucket']}/{folder}{START}"
    return str(options.copies_folder())


def keep(path: Path) -> None:
    """A copy just made in the folder; it goes from there where the store has it."""
    store = options.store()
    if store is None:
        return
    try:
        with path.open("rb") as file:
            store.put(START + path.name, file, path.stat().st_size)
        with store.reader(START + path.name) as answer:
            if archive.digest(answer) != archive.digest_of(path):
                raise BackupError("What was put into the store reads back as something else.")
    finally:
        path.unlink(missing_ok=True)


def sizes() -> dict[str, int]:
    """The copies by name, and how many bytes each has."""
    store = options.store()
    if store is None:
        folder = options.copies_folder()
        return {path.name: path.stat().st_size for path in folder.glob(ALL)}
    found = store.listed(f"{START}studio-")
    named = ((store.named(each).removeprefix(START), int(each.size or 0)) for each in found)
    return {name: size for name, size in named if name.endswith(".zip")}


def has(name: str) -> bool:
    store = options.store()
    if store is None:
        return (options.data_folder() / START / name).is_file()
    try:
        store.facts(START + name)
    except FileNotFoundError:
        return False
    return True


def read(name: str) -> IO[bytes]:
    store = options.store()
    if store is None:
        return (options.copies_folder() / name).open("rb")
    return store.get(START + name)


@contextmanager
def at_hand(name: str) -> Iterator[Path]:
    """The copy as a file of this machine, as long as the block lasts."""
    store = options.store()
    if store is None:
        yield options.copies_folder() / name
        return
    with options.working_folder() as folder:
        path = folder / name
        with archive.new_file(path) as target, store.reader(START + name) as source:
            while piece := source.read(archive.PIECE):
                target.write(piece)
        yield path


def remove(name: str) -> None:
    store = options.store()
    if store is None:
        (options.copies_folder() / name).unlink(missing_ok=True)
    else:
        store.remove(START + name)
