"""A copy is made, read back from the disk, and compared with what was living at its moment."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from tempfile import TemporaryDirectory

from django.core.files.storage import default_storage
from django.db import IntegrityError, connection, transaction
from django.db.migrations.executor import MigrationExecutor

from studio.backup import asked, databases, options, second, shelf
from studio.backup.core import archive
from studio.backup.core.archive import MANIFEST
from studio.backup.core.manifest import BackupError, Manifest
from studio.backup.core.retention import KeepRule, kept
from studio.backup.models import Backup, Kind
from studio.shop import clock
from studio.shop.models import Profile

NAME = "studio-%Y-%m-%dT%H%M%SZ"
MOST_TRIES = 3
"""How often a copy is begun anew because a stored file went meanwhile."""
ANEW_AFTER = timedelta(hours=1)
KEPT_APART = 3
"""Beside the rule: copies before an upgrade or a restore, and of data that are not in order."""
UPGRADED = "before-upgrade"
"""In the name of a copy that was made before an upgrade."""
TICKETS, PAYMENTS = "tickets_ticket", "billing_payment"
COUNTED = {
    TICKETS: ("ticket", "tickets"),
    "clients_client": ("client", "clients"),
    "billing_invoice": ("invoice", "invoices"),
    PAYMENTS: ("payment", "payments"),
    "makes_make": ("make", "makes"),
    "shop_entry": ("change", "changes"),
}
"""What people count of a studio, by its table, and how it is called."""


def program_version() -> str:
    try:
        return version("sewing-studio")
    except PackageNotFoundError:
        return "0.1.0"


@dataclass(frozen=True)
class FreshCopy:
    """A copy that was read back; ``faults`` are of the studio's own data.

    ``path`` is where it was made, and where it lies unless the store has it.
    """

    path: Path
    size: int
    manifest: Manifest
    faults: list[str]


def write_copy(moment: datetime, mark: str = "") -> FreshCopy:
    """Make a copy and read it back. Raises BackupError or OSError; then no file is left."""
    opts = options.load()
    with options.working_folder() as folder:
        plain = folder / "studio.zip"
        manifest = _write(plain, folder, moment)
        ready = plain
        if opts.locks:
            ready = folder / "locked.zip"
            archive.lock(plain, ready, key=opts.key, recipient=opts.recipient)
            plain.unlink()
        faults = read_back(ready, manifest, identity=opts.identity)
        path = _free_name(moment, mark)
        ready.rename(path)
        _sync(path.parent)
    fresh = FreshCopy(path, path.stat().st_size, manifest, faults)
    shelf.keep(path)
    return fresh


def _free_name(moment: datetime, mark: str) -> Path:
    folder = options.copies_folder()
    stem = f"{moment.astimezone(UTC):{NAME}}{f'-{mark}' if mark else ''}"
    count, path = 1, folder / f"{stem}.zip"
    while path.exists() or shelf.has(path.name):
        count += 1
        path = folder / f"{stem}-{count}.zip"
    return path


def _sync(folder: Path) -> None:
    """A new name is on the disk only when its folder is."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _write(target: Path, folder: Path, moment: datetime) -> Manifest:
    """The open archive, of a snapshot and of the files that it names.

    A file that went since is the sign of a client erased meanwhile: all is begun anew. What is
    still not there then was missing before, and reading back says so.
    """
    for left in reversed(range(MOST_TRIES)):
        snapshot = databases.take_snapshot(folder)
        manifest = Manifest(
            program=program_version(),
            database=databases.kind_of(),
            moment=moment.astimezone(UTC).isoformat(timespec="seconds"),
            migrations=snapshot.migrations,
            figures=snapshot.figures,
            names=databases.file_columns(snapshot.columns),
            papers=databases.paper_columns(snapshot.columns),
        )
        missing = []
        with archive.sealed_zip(target) as zipped:
            name = snapshot.file.name
            with snapshot.file.open("rb") as file:
                digests = {name: archive.add(zipped, name, file)}
            for stored in snapshot.stored:
                name = f"files/{stored}"
                try:
                    with default_storage.open(stored) as file:
                        digests[name] = archive.add(zipped, name, file, packed=True)
                except FileNotFoundError:
                    missing.append(stored)
            manifest = replace(manifest, files=digests)
            archive.add_text(zipped, MANIFEST, manifest.to_json())
        snapshot.file.unlink()
        if not (missing and left):
            break
        target.unlink()
    return manifest


@contextmanager
def opened(path: Path, *, identity: str = "", passphrase: str = "") -> Iterator[Path]:
    """The open archive of a copy, locked or not, which is checked by its seal first."""
    archive.check_seal(path)
    if not archive.is_locked(path):
        yield path
        return
    with TemporaryDirectory(prefix=".working-", dir=path.parent) as folder:
        plain = Path(folder) / "opened.zip"
        archive.unlock(path, plain, identity=identity, passphrase=passphrase)
        archive.check_seal(plain)
        yield plain


def read_back(path: Path, living: Manifest, *, identity: str = "") -> list[str]:
    """Faults of the studio's own data, found in the copy. Raises BackupError if it is no copy."""
    with opened(path, identity=identity) as plain, options.working_folder() as folder:
        with archive.open_zip(plain) as zipped:
            manifest = archive.unpack(zipped, folder, (databases.SQLITE_FILE, databases.DUMP_FILE))
        if manifest != living:
            raise BackupError("The copy says something else than what was written into it.")
        return check_database(folder, manifest)


def check_database(folder: Path, manifest: Manifest) -> list[str]:
    """Compare the database in an unpacked copy with the manifest; gives faults of the data.

    Raises BackupError where it differs.
    """
    if manifest.database == "postgresql":
        with databases.scratch_database(folder / databases.DUMP_FILE) as name:
            unlike, faults = databases.check_postgres(name, manifest)
    else:
        unlike, faults = databases.check_sqlite(folder / databases.SQLITE_FILE, manifest)
    if unlike:
        raise BackupError(" ".join(unlike[:3]))
    return faults


# What is remembered of it


def back_up(kind: Kind, *, night: date | None = None) -> Backup | None:
    """Make a copy, remember what became of it, let old copies go, and fill the second place.

    Never raises what a disk or a database says: that is a sentence of the row. None where another
    process has this night.
    """
    row = _claim(kind, night)
    if row is None:
        return None
    try:
        copy = write_copy(row.started_at)
    except (BackupError, OSError, *databases.ERRORS) as error:
        row.wrong = [in_words(error)]
    else:
        describe(row, copy)
    row.finished_at = clock.now()
    with transaction.atomic():  # whoever writes much at this moment lets it have its turn
        row.save()
    if row.name:
        drop_old()
        second.fill(row, lambda names: droppable(names, faulty(), KeepRule()))
    return row


def describe(row: Backup, copy: FreshCopy) -> None:
    row.name, row.size, row.wrong = copy.path.name, copy.size, copy.faults
    row.locked = options.load().locks
    tell_inside(row, copy.manifest)


def tell_inside(row: Backup, manifest: Manifest) -> None:
    """What the copy of this row says that is in it."""
    tables, profile = manifest.figures.tables, Profile.objects.first()
    row.inside = {table: tables[table].rows for table in COUNTED if table in tables}
    row.tickets = tables[TICKETS].rows
    row.paid = int(tables[PAYMENTS].sums["amount"])
    row.currency = profile.currency if profile else ""


def remembered(name: str) -> Backup:
    """The row of a copy; a new one of a file that no row knows, such as after a restore."""
    known = Backup.objects.filter(name=name).first()
    moment = moment_of(name) or clock.now()
    kind = Kind.UPGRADE if UPGRADED in name else Kind.HAND
    size = 0 if known else shelf.sizes().get(name, 0)
    return known or Backup(name=name, kind=kind, started_at=moment, finished_at=moment, size=size)


def in_words(error: Exception) -> str:
    """A sentence for the owner."""
    if isinstance(error, OSError) and error.errno is not None:
        return f"{second.DISK.get(error.errno, error.strerror or 'The disk refused')}."
    return str(error)


def is_pending() -> bool:
    """Whether something is to be migrated."""
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def before_upgrade() -> FreshCopy | None:
    """A copy of a studio that is about to be migrated; None where there is nothing to lose.

    No row tells of it yet: its table may be among what is to come. Raises BackupError or OSError.
    """
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
        profile = Profile._meta.db_table  # noqa: SLF001 -- documented by Django
        if profile not in tables or not Profile.objects.values("pk").exists():
            return None
    if not is_pending():
        return None
    return write_copy(clock.now(), UPGRADED)


def _claim(kind: Kind, night: date | None) -> Backup | None:
    """The row of this try; a night belongs to who writes its row first.

    Who failed, or was ended in the middle, leaves it to the next after an hour.
    """
    now = clock.now()
    try:
        with transaction.atomic():
            return Backup.objects.create(kind=kind, night=night, started_at=now)
    except IntegrityError:
        again = Backup.objects.filter(night=night, name="", started_at__lte=now - ANEW_AFTER)
        if again.update(started_at=now, finished_at=None, wrong=[]):
            return Backup.objects.get(night=night)
        return None


def moment_of(name: str) -> datetime | None:
    """When the copy of that name was made; None where it is no copy's name."""
    stem = name.removesuffix(".zip")[: len("studio-2026-11-27T020013Z")]
    try:
        return datetime.strptime(stem, NAME).replace(tzinfo=UTC)
    except ValueError:
        return None


def drop_old(rule: KeepRule = KeepRule()) -> list[str]:  # noqa: B008 -- frozen
    """Remove copies that the rule does not keep; gives their names."""
    wanted = asked.load()
    names = [name for name in shelf.sizes() if wanted is None or name != wanted.name]
    dropped = droppable(names, faulty(), rule)
    for name in dropped:
        shelf.remove(name)
    return dropped


def faulty() -> set[str]:
    """Names of copies of data that were not in order."""
    return set(Backup.objects.exclude(wrong=[]).values_list("name", flat=True))


def droppable(names: list[str], spoilt: set[str], rule: KeepRule) -> list[str]:
    """Those that go: the rule is asked of good copies; of the others the newest few stay."""
    dated = {name: moment for name in names if (moment := moment_of(name))}
    groups: list[list[str]] = [[], [], []]
    for name in dated:
        apart = UPGRADED in name or asked.PUT_ASIDE in name
        groups[2 if name in spoilt else 1 if apart else 0].append(name)
    keep = kept([clock.local(dated[name]) for name in groups[0]], rule)
    gone = [name for name in groups[0] if dated[name] not in keep]
    for group in groups[1:]:
        gone += sorted(group, key=dated.__getitem__, reverse=True)[KEPT_APART:]
    return sorted(gone)
