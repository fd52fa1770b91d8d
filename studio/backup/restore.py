"""A copy is brought back: into a new place first, verified there, then put in the studio's place.

The new place is a data folder of its own, in which the program migrates the database and repeats
the erasures made since, each as a process that knows no other studio. Putting it in place is two
renames of which a list is written first: who is stopped between them finishes at the next start.
What was there before is kept beside.
"""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection

from studio.backup import asked, databases, erasures, options, running, verbs
from studio.backup.core import archive
from studio.backup.core.manifest import BackupError, Manifest, quoted
from studio.backup.write import check_database, opened, write_copy
from studio.shop import clock
from studio.shop.history import note
from studio.shop.models import Profile

PLAN = "restoring.json"
NEW = "restored"
SIDE_FILES = ("", "-journal", "-wal", "-shm")


def unpack(
    path: Path, folder: Path, *, identity: str = "", passphrase: str = ""
) -> tuple[Manifest, list[str]]:
    """The whole copy in ``folder``, compared with what it says; and faults of the data in it.

    Raises BackupError where it is no copy, or no whole one.
    """
    if not path.is_file():
        raise BackupError(f"There is no file {path}.")
    with (
        opened(path, identity=identity, passphrase=passphrase) as plain,
        archive.open_zip(plain) as zipped,
    ):
        manifest = archive.unpack(zipped, folder)
    return manifest, check_database(folder, manifest)


def bring_up_to_date(folder: Path, database_url: str = "") -> None:
    """Migrate the unpacked studio, repeat erasures made since, and end its sessions."""
    if (lines := erasures.text()) and folder != options.data_folder():
        options.write_anew(folder / erasures.ledger().name, lines.encode())
    environment = {
        **os.environ,
        "STUDIO_DATA": str(folder),
        # Its files lie in the folder too; what it erases is none of the store's.
        "STUDIO_FILES": "",
        "DATABASE_URL": database_url,
        "STUDIO_SECRET_KEY": settings.SECRET_KEY,
    }
    done = subprocess.run(  # noqa: S603 -- the program itself
        [sys.executable, str(settings.BASE_DIR / "manage.py"), "after_restore"],
        env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode:
        raise BackupError(f"The copy could not be brought up to date: {done.stderr[-400:]}")


def restore(
    path: Path, *, moment: datetime, passphrase: str = "", also_erased: Iterable[UUID] = ()
) -> tuple[Manifest, Path]:
    """Bring the copy back in the place of the studio's data.

    Gives what the copy says of itself, and the folder of what was there before, if anything was.
    ``also_erased`` are clients that the present data know as erased, should the list lack one.
    Raises BackupError; then all is as it was.
    """
    handle = running.take_alone()
    if handle is None:
        raise BackupError("The program is running. Close it first, then restore.")
    try:
        finish()
        data = options.data_folder()
        folder = data / NEW
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(mode=0o700)
        identity = "" if passphrase else options.load().identity
        try:
            manifest, _ = unpack(path, folder, identity=identity, passphrase=passphrase)
            if manifest.database != databases.kind_of():
                raise BackupError(
                    f"This copy is of {manifest.database}: restore it there, then move it."
                )
            erasures.remember(also_erased)
            before = data / f"{asked.PUT_ASIDE}-{moment:%Y-%m-%dT%H%M%SZ}"
            if manifest.database == "postgresql":
                _put_in_place_postgres(folder, before)
            else:
                bring_up_to_date(folder)
                _put_into_the_store(folder, before)
                connection.close()
                _begin(before, [databases.SQLITE_FILE, *_files()])
        except BaseException:
            if not (data / PLAN).exists():
                shutil.rmtree(folder, ignore_errors=True)
            raise
        finish()
        with suppress(OSError):  # another account's folder: the doctor names it
            data.chmod(0o700)
    finally:
        handle.close()
    return manifest, before


def _files() -> list[str]:
    """What is renamed beside the database: nothing where the files lie in a store."""
    return [] if settings.STORE else ["files"]


def _begin(before: Path, names: list[str], renamed: tuple[str, ...] = ()) -> None:
    """Write down what is to be renamed; from here on there is only forward.

    ``renamed`` are three names of PostgreSQL databases: the fresh one, its place, and where what
    is in that place goes.
    """
    data = options.data_folder()
    (data / NEW / "files").mkdir(mode=0o700, exist_ok=True)
    plan = {"before": before.name, "names": names, "databases": renamed}
    options.write_anew(data / PLAN, json.dumps(plan).encode())


def finish() -> None:
    """Do what is left of a restore that was begun; nothing where there is none. Safe to repeat."""
    data = options.data_folder()
    if not (data / PLAN).exists():
        return
    plan = json.loads((data / PLAN).read_text())
    before = data / plan["before"]
    if plan["databases"]:
        fresh_name, name, kept = plan["databases"]
        if databases.exists(fresh_name):
            databases.run_on_server(
                f"ALTER DATABASE {quoted(name)} RENAME TO {quoted(kept)}",
                f"ALTER DATABASE {quoted(fresh_name)} RENAME TO {quoted(name)}",
                together=True,
            )
    for name in plan["names"]:
        fresh = data / NEW / name
        if fresh.exists():
            for side in SIDE_FILES:
                old = data / f"{name}{side}"
                if old.exists():
                    before.mkdir(mode=0o700, exist_ok=True)
                    old.rename(before / old.name)
            fresh.rename(data / name)
    asked.forget()
    (data / PLAN).unlink()
    shutil.rmtree(data / NEW, ignore_errors=True)


def finish_at_start() -> None:
    """Finish a restore that was stopped in the middle, unless another process sees to it."""
    handle = running.take_alone()
    if handle is not None:
        try:
            finish()
        finally:
            handle.close()


def carry_out(out: Any) -> None:
    """Put the copy back that the owner asked for, unless another process of the program is open.

    The command does it, which changes nothing where anything is not as it should be. A copy of
    what is there is made first, so that the page can also lead back.
    """
    wish = asked.load()
    if wish is None or wish.wrong or not asked.is_possible():
        return
    alone = running.take_alone()
    if alone is None:
        return
    alone.close()
    if wish.tries == asked.MOST_TRIES:
        words = f"The program was stopped {asked.MOST_TRIES} times while it was at it."
        asked.save(replace(wish, wrong=words))
        return
    asked.save(replace(wish, tries=wish.tries + 1))
    if not wish.tries:
        with suppress(BackupError, OSError, *databases.ERRORS):
            write_copy(clock.now(), asked.PUT_ASIDE)
    try:
        call_command("restore", wish.name, no_input=True, stdout=out)
    except CommandError as error:
        asked.save(replace(wish, wrong=str(error)))
        return
    if studio := Profile.load():
        clock.activate(studio)
        note(verbs.PUT_BACK, about=studio, by=None, copy=wish.name)


def _put_in_place_postgres(folder: Path, before: Path) -> None:
    """A new database beside the studio's, then both are renamed in one transaction."""
    name = connection.settings_dict["NAME"]
    fresh = f"{name}_restored"
    databases.run_on_server(f"DROP DATABASE IF EXISTS {quoted(fresh)}")
    databases.create_database(folder / databases.DUMP_FILE, fresh)
    bring_up_to_date(folder, databases.url_of(fresh))
    _put_into_the_store(folder, before)
    connection.close()
    _begin(before, _files(), (fresh, name, f"{name}_{before.name.replace('-', '_').lower()}"))


def _put_into_the_store(folder: Path, before: Path) -> None:
    """Add the copy's files to those in the store, if there is one. Safe to repeat.

    Nothing goes: files that came since lie where they were, and one that is another now is put
    aside, below the name of ``before``.
    """
    store = options.store()
    if store is None:
        return
    files = folder / "files"
    for path in sorted(path for path in files.rglob("*") if path.is_file()):
        name = path.relative_to(files).as_posix()
        if default_storage.exists(name):
            with default_storage.open(name) as file:
                if archive.digest(file) == archive.digest_of(path):
                    continue
                file.seek(0)
                store.put(f"{before.name}/{name}", file, default_storage.size(name))
            default_storage.delete(name)
        with path.open("rb") as fresh:
            default_storage.save(name, File(fresh))
    shutil.rmtree(files)


def try_out(path: Path, *, passphrase: str = "") -> tuple[Manifest, list[str]]:
    """Restore for real into a place that goes again; faults of the data. Raises BackupError."""
    with options.working_folder() as folder:
        manifest, faults = unpack(
            path,
            folder,
            identity="" if passphrase else options.load().identity,
            passphrase=passphrase,
        )
        if manifest.database == "sqlite":
            bring_up_to_date(folder)
        return manifest, faults
