"""The database behind a copy: read at one moment, copied, and read again from the copy.

Plain SQL on purpose: a studio that is about to be migrated, or a copy of one, has the tables of
another version than the program's models.
"""

import os
import secrets
import shutil
import sqlite3
import subprocess
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

from django.apps import apps
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections
from django.db.models import FileField

from studio.backup.core.manifest import (
    BackupError,
    Figures,
    Manifest,
    Read,
    differences,
    gaps,
    quoted,
    read_figures,
)

SQLITE_FILE, DUMP_FILE = "studio.sqlite3", "studio.dump"
SECONDS_TO_WAIT = 20

Columns = dict[str, dict[str, str]]

CopyCheck = Callable[[str], list[str]]
CHECKS: list[CopyCheck] = []
ERRORS = (sqlite3.Error, DatabaseError)


@dataclass(frozen=True)
class Snapshot:
    """A database at one moment: what can be counted in it, and the file that it was copied to."""

    file: Path
    figures: Figures
    columns: Columns
    migrations: list[str]
    stored: list[str]
    """The names of all stored files, each once."""

    @property
    def names(self) -> list[tuple[str, str]]:
        return file_columns(self.columns)


def kind_of() -> str:
    return "postgresql" if connection.vendor == "postgresql" else "sqlite"


def file_columns(columns: Columns) -> list[tuple[str, str]]:
    """Columns of the program's models that name a stored file, where the database has them."""
    fields = [
        (model._meta.db_table, field.column)  # noqa: SLF001 -- documented by Django
        for model in apps.get_models()
        for field in model._meta.concrete_fields  # noqa: SLF001 -- documented by Django
        if isinstance(field, FileField)
    ]
    return [(table, column) for table, column in fields if column in columns.get(table, {})]


def paper_columns(columns: Columns) -> list[tuple[str, str, str]]:
    """Those beside which the database keeps the file's own digest."""
    return [
        (table, column, "sha256")
        for table, column in file_columns(columns)
        if "sha256" in columns[table]
    ]


def stored_names(read: Read, names: list[tuple[str, str]]) -> list[str]:
    stored = {
        str(row[0])
        for table, column in names
        for row in read(f"SELECT {quoted(column)} FROM {quoted(table)}")
        if row[0]
    }
    return sorted(stored)


def migrations_of(read: Read, columns: Columns) -> list[str]:
    if "django_migrations" not in columns:
        return []
    rows = read("SELECT app, name FROM django_migrations ORDER BY id")
    return [f"{app}.{name}" for app, name in rows]


def take_snapshot(folder: Path) -> Snapshot:
    """Copy the studio's database into ``folder``, and count it at that very moment."""
    if kind_of() == "postgresql":
        return _dump(folder / DUMP_FILE)
    return copy_sqlite(Path(connection.settings_dict["NAME"]), folder / SQLITE_FILE)


# What rooms ask of a copy


def check_of_copies(look: CopyCheck) -> CopyCheck:
    """Ask this of each copy that is read back: faults in sentences.

    It is given the name of a connection to the copy's database, for ``using``.
    """
    CHECKS.append(look)
    return look


def check_by_rooms(database: str, columns: Columns) -> list[str]:
    """Nothing of a copy of another version, which the program's models cannot read."""
    if not _of_this_version(columns):
        return []
    alias, copy = "copy", connections.create_connection(DEFAULT_DB_ALIAS)
    copy.alias = alias
    copy.settings_dict = copy.settings_dict | {"NAME": database}
    if copy.vendor == "sqlite":
        # What is set when a studio is opened would be written into it.
        copy.settings_dict["OPTIONS"] = {}
    # Known by its name in this thread alone.
    connections[alias] = copy
    try:
        return [fault for look in CHECKS for fault in look(alias)]
    finally:
        copy.close()
        del connections[alias]


def _of_this_version(columns: Columns) -> bool:
    return all(
        field.column in columns.get(model._meta.db_table, {})  # noqa: SLF001 -- as above
        for model in apps.get_models()
        if model._meta.managed and not model._meta.proxy  # noqa: SLF001 -- as above
        for field in model._meta.concrete_fields  # noqa: SLF001 -- as above
    )


# SQLite


def sqlite_columns(read: Read) -> Columns:
    """Every table with its columns and their declared types."""
    tables = [row[0] for row in read("SELECT name FROM sqlite_master WHERE type = 'table'")]
    return {
        table: {row[1]: row[2] for row in read(f"PRAGMA table_info({quoted(table)})")}
        for table in tables
        if not table.startswith("sqlite_")
    }


def copy_sqlite(source: Path, target: Path) -> Snapshot:
    """By SQLite's own backup call, within one transaction that also counts.

    Writers may go on preparing what they write; they commit when the transaction has ended.
    """
    target.touch(mode=0o600)
    living = sqlite3.connect(source, timeout=SECONDS_TO_WAIT, isolation_level=None)
    with closing(living), closing(sqlite3.connect(target, isolation_level=None)) as copy:
        copy.execute("PRAGMA synchronous=OFF")
        living.execute("BEGIN")
        columns = sqlite_columns(living.execute)
        figures = read_figures(living.execute, columns)
        living.backup(copy)
        living.execute("COMMIT")
        stored = stored_names(copy.execute, file_columns(columns))
        migrations = migrations_of(copy.execute, columns)
        # A copy is one file: what reads it never needs a second one beside it.
        copy.execute("PRAGMA journal_mode=DELETE")
    return Snapshot(target, figures, columns, migrations, stored)


def check_sqlite(file: Path, manifest: Manifest) -> tuple[list[str], list[str]]:
    """What differs from the manifest, and what is wrong in the data themselves, in sentences."""
    with closing(sqlite3.connect(f"file:{file}?mode=ro&immutable=1", uri=True)) as copy:
        try:
            faults = [
                f"SQLite finds the database damaged: {row[0]}."
                for row in copy.execute("PRAGMA integrity_check(3)")
                if row[0] != "ok"
            ]
            if broken := len(copy.execute("PRAGMA foreign_key_check").fetchall()):
                faults.append(f"{broken} rows refer to rows that are not there.")
            columns = sqlite_columns(copy.execute)
            found, unlike, more = check_rows(copy.execute, columns, manifest)
        except sqlite3.DatabaseError as error:
            return [f"The database in the copy cannot be read: {error}."], []
    rooms = [] if unlike else check_by_rooms(f"file:{file}?mode=ro&immutable=1", columns)
    return unlike, [*faults, *gaps(found, said=rooms), *more, *rooms]


def check_rows(
    read: Read, columns: Columns, manifest: Manifest
) -> tuple[Figures, list[str], list[str]]:
    """The part of a check that is the same for every database: its figures, in which they are
    another than the copy's, and what is wrong with its files."""
    found = read_figures(read, columns)
    return found, differences(manifest.figures, found), check_files(read, manifest)


def check_files(read: Read, manifest: Manifest) -> list[str]:
    """Stored files that are named and missing, and papers that are not as they were issued."""
    faults = []
    held = {name.removeprefix("files/"): digest for name, digest in manifest.files.items()}
    if absent := [name for name in stored_names(read, manifest.names) if name not in held]:
        more = f" and {len(absent) - 3} more" if len(absent) > 3 else ""
        faults.append(f"Stored files are missing: {', '.join(absent[:3])}{more}.")
    for table, column, digest in manifest.papers:
        rows = read(f"SELECT {quoted(column)}, {quoted(digest)} FROM {quoted(table)}")
        faults += [
            f"{name} is not the paper that was issued."
            for name, kept in rows
            if name in held and held[name] != kept
        ]
    return faults


# PostgreSQL


def postgres_columns(read: Read) -> Columns:
    columns: Columns = defaultdict(dict)
    for table, column, kind in read(
        "SELECT c.table_name, c.column_name, c.data_type FROM information_schema.columns c"
        " JOIN information_schema.tables t USING (table_schema, table_name)"
        " WHERE c.table_schema = current_schema() AND t.table_type = 'BASE TABLE'"
    ):
        columns[table][column] = kind
    return dict(columns)


@contextmanager
def postgres_reader(name: str = "") -> Iterator[Read]:
    """Reads the studio's database, or another of its server, at one moment."""
    own = connections.create_connection(DEFAULT_DB_ALIAS)
    if name:
        own.settings_dict = own.settings_dict | {"NAME": name}
    try:
        with own.cursor() as cursor:
            cursor.execute("BEGIN ISOLATION LEVEL REPEATABLE READ")

            def read(sql: str) -> Any:
                cursor.execute(sql)
                return cursor.fetchall()

            yield read
    finally:
        own.close()


def postgres_program(program: str, *words: str, name: str = "") -> None:
    """Run one of PostgreSQL's own programs on the studio's database. Raises BackupError."""
    if not shutil.which(program):
        raise BackupError(f"{program} is not installed; it comes with PostgreSQL.")
    facts = connection.settings_dict
    place = {
        "PGHOST": facts["HOST"], "PGPORT": str(facts["PORT"]), "PGUSER": facts["USER"],
        "PGPASSWORD": facts["PASSWORD"], "PGDATABASE": name or facts["NAME"],
    }  # fmt: skip
    environment = {**os.environ, **{key: value for key, value in place.items() if value}}
    done = subprocess.run(  # noqa: S603 -- the program's own words
        [program, *words], env=environment, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise BackupError(f"{program} failed: {done.stderr.strip()[-300:]}")


def _dump(target: Path) -> Snapshot:
    target.touch(mode=0o600)
    with postgres_reader() as read:
        columns = postgres_columns(read)
        figures = read_figures(read, columns)
        stored = stored_names(read, file_columns(columns))
        migrations = migrations_of(read, columns)
        moment = next(iter(read("SELECT pg_export_snapshot()")))[0]
        postgres_program(
            "pg_dump", "--format=custom", "--no-owner", "--no-privileges",
            f"--snapshot={moment}", f"--file={target}",
        )  # fmt: skip
    return Snapshot(target, figures, columns, migrations, stored)


def create_database(dump: Path, name: str) -> None:
    """A new database of the same server, filled from the dump; its constraints are checked."""
    try:
        run_on_server(f"CREATE DATABASE {quoted(name)} TEMPLATE template0")
    except DatabaseError as error:
        raise BackupError(
            f"No second database could be made to read the copy back: {error}."
        ) from error
    postgres_program(
        "pg_restore", "--exit-on-error", "--no-owner", "--no-privileges", f"--dbname={name}",
        str(dump), name=name,
    )  # fmt: skip


def run_on_server(*statements: str, together: bool = False) -> None:
    """Run what concerns whole databases, from the server's own one."""
    server = connections.create_connection(DEFAULT_DB_ALIAS)
    server.settings_dict = server.settings_dict | {"NAME": "postgres"}
    try:
        with server.cursor() as cursor:
            if together:
                cursor.execute("BEGIN")
            for statement in statements:
                cursor.execute(statement)
            if together:
                cursor.execute("COMMIT")
    finally:
        server.close()


def exists(name: str) -> bool:
    with postgres_reader("postgres") as read:
        return name in {row[0] for row in read("SELECT datname FROM pg_database")}


def url_of(name: str) -> str:
    """The DATABASE_URL of another database of the studio's server."""
    facts = connection.settings_dict
    who = quote(facts["USER"], safe="")
    if facts["PASSWORD"]:
        who += ":" + quote(facts["PASSWORD"], safe="")
    port = f":{facts['PORT']}" if facts["PORT"] else ""
    host = facts["HOST"] if ":" not in facts["HOST"] else f"[{facts['HOST']}]"
    return f"postgresql://{who}@{host}{port}/{quote(name, safe='')}"


@contextmanager
def scratch_database(dump: Path) -> Iterator[str]:
    """A database restored from the dump, that goes again."""
    name = f"studio_copy_{secrets.token_hex(6)}"
    try:
        create_database(dump, name)
        yield name
    finally:
        run_on_server(f"DROP DATABASE IF EXISTS {quoted(name)}")


def check_postgres(name: str, manifest: Manifest) -> tuple[list[str], list[str]]:
    with postgres_reader(name) as read:
        columns = postgres_columns(read)
        found, unlike, faults = check_rows(read, columns, manifest)
    rooms = [] if unlike else check_by_rooms(name, columns)
    return unlike, [*gaps(found, said=rooms), *faults, *rooms]
