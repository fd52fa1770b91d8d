"""How the studio's computer is: findings that a page, a command and the error pages tell alike.

A room with something to look at registers a ``check`` in its module ``checks``; the page and
``manage.py doctor`` ask all of them. ``cause_of`` names the cause of a breakdown without asking the
database, which may be what is broken.
"""

import os
import platform
import re
import shutil
import sqlite3
import sys
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from errno import EACCES, EDQUOT, ENOSPC, EPERM, EROFS
from functools import cache
from pathlib import Path
from time import time
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.files.storage import Storage, default_storage
from django.db import DatabaseError, connection
from django.db.backends.utils import CursorWrapper
from django.db.migrations.executor import MigrationExecutor
from django.db.models import FileField
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from studio.shop import clock
from studio.shop.locales import show_when
from studio.shop.models import CodeApp, Entry, Profile
from studio.shop.stored.files import StoreError, whole_of

LEAST_FREE, LITTLE_FREE = 200 * 1024**2, 1024**3
FOLDER, FILE = 0o700, 0o600
# A file is written before its row is certain, and a row is gone before its file is.
SETTLED = timedelta(days=1)
WRITTEN = datetime(2026, 1, 1, tzinfo=UTC).timestamp()  # no clock says less and is right


@dataclass(frozen=True)
class Finding:
    """``words`` is one sentence; ``way`` what to do, at the address called ``room`` where there is
    one. What is not ``good`` makes the command fail, which alone tells the ``details``."""

    name: str
    good: bool
    words: str
    way: str = ""
    room: str = ""
    details: str = ""

    @property
    def address(self) -> str:
        try:
            return reverse(self.room) if self.room else ""
        except NoReverseMatch:
            return ""


def counted(files: int) -> str:
    return f"{files} {'file' if files == 1 else 'files'}"


Check = Callable[[Profile], Finding]
CHECKS: list[Check] = []


def check(look: Check) -> Check:
    CHECKS.append(look)
    return look


Tidying = Callable[[], object]
EACH_NIGHT: list[Tidying] = []


def each_night(tidy: Tidying) -> Tidying:
    """``tidy`` erases what has been kept for long enough: before each night's copy, and by hand
    with the doctor's sweep.
    """
    EACH_NIGHT.append(tidy)
    return tidy


def tidy_up() -> None:
    for tidy in EACH_NIGHT:
        tidy()


def findings(studio: Profile) -> list[Finding]:
    """What every check found, what is wrong first; the order of the checks otherwise."""
    return sorted((look(studio) for look in CHECKS), key=lambda finding: finding.good)


@check
def room_on_the_disk(_studio: Profile) -> Finding:
    free = shutil.disk_usage(settings.DATA_DIR).free
    size = f"{free / 1024**3:.1f} GB" if free >= 1024**3 else f"{free // 1024**2} MB"
    return Finding(
        "Room on the disk",
        free >= LITTLE_FREE,
        f"{size} are free.",
        "" if free >= LITTLE_FREE else "Empty the machine's bin, or move old copies elsewhere.",
    )


@check
def rights(_studio: Profile) -> Finding:
    wrong = [*open_to_others(settings.DATA_DIR)]
    name = "The folder is private"
    if wrong:
        paths = [path for path, _ in wrong if path != settings.DATA_DIR]
        which = ["the folder itself"] if len(paths) < len(wrong) else []
        if paths:
            few = ", ".join(str(path.relative_to(settings.DATA_DIR)) for path in paths[:2])
            which.append(f"{counted(len(paths))} in it, such as {few}")
        words = f"Other accounts of this machine may open {' and '.join(which)}."
        way = "Restart the program: it locks what is open."
        return Finding(name, False, words, way)
    return Finding(name, True, "Only the account that runs the program can read it.")


def open_to_others(folder: Path) -> Iterator[tuple[Path, int]]:
    """What another account could enter, read or change, with the rights that it should have."""
    for path in (folder, *folder.rglob("*")):
        if path.is_symlink():
            continue
        try:
            mode = path.stat().st_mode & 0o777
        except FileNotFoundError:
            continue
        if mode & 0o077:
            yield path, FOLDER if path.is_dir() else FILE


def lock_the_folder(folder: Path) -> int:
    """Take the rights of others from all that lies in the studio's folder; how many had some.

    What belongs to another account stays as it is, and the doctor says so.
    """
    mended = 0
    for path, mode in list(open_to_others(folder)):
        try:
            path.chmod(mode)
        except OSError:
            continue
        mended += 1
    return mended


@check
def journal(_studio: Profile) -> Finding:
    """Whether what was saved survives a power cut, by what the database itself says."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            mode, level = (
                _ask(cursor, f"PRAGMA {name}") for name in ("journal_mode", "synchronous")
            )
            safe = level >= 2 and mode in ({"wal", "delete"} if settings.WAL_SAFE else {"delete"})
            how = f"journal {mode}, synchronous {level}"
        else:
            named = ("fsync", "synchronous_commit", "full_page_writes")
            said = {name: _ask(cursor, f"SHOW {name}") for name in named}
            safe = "off" not in said.values()
            how = ", ".join(f"{name} {value}" for name, value in said.items())
    words = (
        "What was saved survives a power cut." if safe else "A power cut could lose what was saved."
    )
    way = "" if safe else "Take the changed settings of the database back; see docs/doctor.md."
    return Finding("The database's journal", safe, words, way, details=how)


def _ask(cursor: CursorWrapper, question: str) -> Any:
    cursor.execute(question)
    return cursor.fetchone()[0]


@check
def the_clock(studio: Profile) -> Finding:
    newest = Entry.objects.values_list("at", flat=True).first()
    now, locale = clock.now(), studio.locale
    words = f"It says {show_when(now, locale)}"
    if newest is not None and newest > now + clock.TOLERANCE:
        words += f"; the newest entry is of {show_when(newest, locale)}."
        return Finding("The clock", False, words, "Set the computer's date and time.")
    # Codes of an app are right for half a minute before and after theirs.
    apps = CodeApp.objects.filter(user__is_active=True).exclude(off_by__range=(-1, 1))
    if app := apps.select_related("user").first():
        ahead = "ahead of" if app.off_by > 0 else "behind"
        who = app.user.shown_name
        words = f"The code app of {who} is {abs(app.off_by) / 2:g} minutes {ahead} this computer."
        return Finding("The clock", False, words, "Set the clock of the one that is wrong.")
    return Finding("The clock", True, f"{words}, after all that was saved.")


@dataclass(frozen=True)
class Strays:
    """``unknown`` files that no row names, ``missing`` ones that a row names and nobody finds."""

    unknown: list[str]
    missing: list[str]


def strays() -> Strays:
    """Files without their row, once settled, and rows without their file.

    What an entry of the history could bring back is no stray. O(files + rows).
    """
    known = {
        name
        for model in apps.get_models()
        for field in model._meta.concrete_fields  # noqa: SLF001 -- Django documents both
        if isinstance(field, FileField)
        for name in model._base_manager.exclude(**{field.name: ""})  # noqa: SLF001
        .values_list(field.name, flat=True).distinct()
        if name
    }  # fmt: skip
    there = set(walk(default_storage))
    before = timezone.now() - SETTLED
    unknown = sorted(
        name
        for name in there
        if whole_of(name) not in known and default_storage.get_modified_time(name) < before
    )
    return Strays(_out_of_reach(unknown), sorted(known - there))


def walk(storage: Storage, folder: str = "") -> Iterator[str]:
    """The names of all files below the folder."""
    try:
        folders, files = storage.listdir(folder)
    except FileNotFoundError:
        return
    yield from (os.path.join(folder, name) for name in files)
    for name in folders:
        yield from walk(storage, os.path.join(folder, name))


PATH = re.compile(r"""["']([^"'\\]+/[^"'\\/]+\.\w+)["']""")


def _out_of_reach(unknown: list[str]) -> list[str]:
    if not unknown:
        return []
    changes = Entry.objects.order_by().values_list("changes", flat=True)
    held = {path for change in changes.iterator() for path in PATH.findall(str(change))}
    return [name for name in unknown if whole_of(name) not in held]


def sweep() -> int:
    """Delete the files that no row names; how many there were."""
    tidy_up()
    unknown = strays().unknown
    for name in unknown:
        default_storage.delete(name)
    return len(unknown)


@check
def pictures_and_papers(_studio: Profile) -> Finding:
    name = "Pictures and papers"
    try:
        found = strays()
    except StoreError as error:
        return Finding(name, False, str(error), "Look at the store that STUDIO_FILES names.")
    if found.missing:
        few = ", ".join(found.missing[:3])
        words = f"{counted(len(found.missing))} missing, such as {few}."
        return Finding(name, False, words, "Restore them from a backup.")
    if found.unknown:
        words = f"{counted(len(found.unknown))} without anything that is kept of them."
        return Finding(name, True, words, "Sweep", "doctor-sweep")
    return Finding(name, True, "Each file has its row, and each row its file.")


@check
def versions(_studio: Profile) -> Finding:
    executor = MigrationExecutor(connection)
    pending = len(executor.migration_plan(executor.loader.graph.leaf_nodes()))
    if connection.vendor == "sqlite":
        database = f"SQLite {sqlite3.sqlite_version}"
    else:
        with connection.cursor() as cursor:
            database = f"PostgreSQL {_ask(cursor, 'SHOW server_version')}"
    words = f"Program {version()}, Python {platform.python_version()}, {database}"
    if pending:
        words = f"{pending} changes of the data wait. {words}."
        return Finding(
            "Versions", False, words, "Restart the program: it brings the data up to date."
        )
    return Finding("Versions", True, f"{words}; the data are up to date.")


@cache
def version() -> str:
    """The program's own."""
    project = tomllib.loads((settings.BASE_DIR / "pyproject.toml").read_text("utf-8"))
    return str(project["project"]["version"])


# What broke


@dataclass(frozen=True)
class Cause:
    """Why a page broke, and what to do; ``safe`` is what was saved before. What passes by itself is
    answered with 503, what somebody has to make room for with 507 (RFC 4918, 11.5)."""

    title: str
    words: str
    status: int = 500
    safe: bool = True


FULL = Cause(
    "The drawer is full",
    "The disk of the studio's computer has no room. Empty its bin, or move old copies elsewhere.",
    status=507,
)
READ_ONLY = Cause(
    "The drawer is locked from outside",
    "The studio's folder can be read but not written: the disk is read-only, or belongs to another "
    "account of the machine.",
    status=507,
)
LOCKED = Cause(
    "Somebody has the book open",
    "Another program held the database for too long, such as a copy that is being made. "
    "Try again in a minute.",
    status=503,
)
SHUT = Cause(
    "The book cannot be opened",
    "The database does not answer, or its file is not where it was. Is the disk plugged in?",
    status=503,
)
AWAY = Cause(
    "The shelf is out of reach",
    "The store of pictures and papers does not answer, or refuses. Try again in a minute.",
    status=503,
)
DAMAGED = Cause(
    "A page of the book is torn",
    "The database's file is damaged. Restore it from a backup.",
    safe=False,
)
CLOCK = Cause(
    "The clock has stopped",
    "The computer's date lies before this program was written. Set its date and time.",
)
# SQLite says it in words (sqlite.org/rescode.html); PostgreSQL by SQLSTATE (appendix A).
IN_WORDS = {
    "database or disk is full": FULL,
    "attempt to write a readonly database": READ_ONLY,
    "database is locked": LOCKED,
    "database table is locked": LOCKED,
    "unable to open database file": SHUT,
    "database disk image is malformed": DAMAGED,
    "file is not a database": DAMAGED,
    "connection refused": SHUT,
    "connection is closed": SHUT,
    "server closed the connection": SHUT,
}
BY_STATE = {"53100": FULL, "25006": READ_ONLY, "55P03": LOCKED, "40P01": LOCKED, "40001": LOCKED}
BY_CLASS = {"08": SHUT, "57": SHUT, "XX": DAMAGED}
BY_NUMBER = {ENOSPC: FULL, EDQUOT: FULL, EROFS: READ_ONLY, EACCES: READ_ONLY, EPERM: READ_ONLY}


def cause_of(wrong: BaseException | None) -> Cause | None:
    """Why it broke, as far as that can be told without the database; None for a fault of ours."""
    seen: set[int] = set()
    while wrong is not None and id(wrong) not in seen:
        seen.add(id(wrong))
        if cause := _known(wrong):
            return cause
        wrong = wrong.__cause__ or wrong.__context__
    return CLOCK if time() < WRITTEN else None


def _known(wrong: BaseException) -> Cause | None:
    if isinstance(wrong, StoreError):
        return AWAY
    if isinstance(wrong, OSError):
        return BY_NUMBER.get(wrong.errno or 0)
    state = str(getattr(wrong, "sqlstate", None) or "")
    if state:
        return BY_STATE.get(state) or BY_CLASS.get(state[:2])
    if isinstance(wrong, DatabaseError | sqlite3.Error):
        said = str(wrong).casefold()
        cause = next((cause for words, cause in IN_WORDS.items() if words in said), None)
        # Where it cannot make its journal, SQLite only says that it cannot open a file.
        folder = settings.DATA_DIR
        locked = cause is SHUT and os.path.isdir(folder) and not os.access(folder, os.W_OK)
        return READ_ONLY if locked else cause
    return None


def breakdown() -> Cause | None:
    """The cause of what is being handled at this moment."""
    return cause_of(sys.exc_info()[1])
