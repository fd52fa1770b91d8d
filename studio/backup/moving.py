"""The studio moves from SQLite to PostgreSQL, or back: every row, compared, and every paper.

The stored files stay where they are; that each is there, and each paper the one that was issued,
is looked at on the way. They move by themselves, from the data folder into the store that
STUDIO_FILES names, or back.
"""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import islice
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.files.storage import FileSystemStorage, default_storage
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, connection, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model
from django.db.models.sql import InsertQuery

from studio import env
from studio.backup import databases, options, running
from studio.backup.core.archive import digest
from studio.backup.core.manifest import (
    BackupError,
    Figures,
    Manifest,
    Read,
    differences,
    read_figures,
)
from studio.shop.doctor import walk
from studio.shop.models import Profile

TARGET = "moving"
AT_ONCE = 500
ITS_OWN = "django_migrations"
"""Each database tells of its own migrations; they are of the same program."""


def move(url: str) -> Figures:
    """Copy all rows to the database of ``url``, or to the data folder's SQLite file if it is "".

    The target is migrated first and has to be empty. Raises BackupError; the studio itself is not
    changed, and a target that was begun is emptied again.
    """
    handle = running.take_alone()
    if handle is None:
        raise BackupError("The program is running. Close it first, then move.")
    try:
        if bool(url) == (databases.kind_of() == "postgresql"):
            raise BackupError("The studio is in a database of this kind already.")
        _migrate(url)
        with _target(url) as target:
            if Profile.objects.using(TARGET).exists():
                raise BackupError("There is a studio in the target already.")
            with transaction.atomic(using=TARGET), target.constraint_checks_disabled():
                _copy_rows(target)
                target.check_constraints()
                here, there = figures_of(connection), figures_of(target)
                if wrong := differences(here, there):
                    raise BackupError(" ".join(wrong[:3]))
            if wrong := file_faults(here):
                raise BackupError(" ".join(wrong[:3]))
            return there
    finally:
        handle.close()


def move_files(*, back: bool) -> int:
    """Copy all files of the data folder into the store, or all of the store into the folder.

    Each is compared; gives how many there are. Raises BackupError where the other place has one
    of that name that is another. Nothing goes from where it was, and it may be done again.
    """
    if not settings.STORE:
        raise BackupError("No store is named: set STUDIO_FILES.")
    folder = FileSystemStorage(options.data_folder() / "files")
    source, target = (default_storage, folder) if back else (folder, default_storage)
    count = 0
    for name in walk(source):
        with source.open(name) as file:
            kept = digest(file)
            if not target.exists(name):
                file.seek(0)
                target.save(name, file)
        with target.open(name) as file:
            if digest(file) != kept:
                raise BackupError(f"{name} is another file in the two places.")
        count += 1
    return count


def _migrate(url: str) -> None:
    environment = {
        **os.environ,
        "STUDIO_DATA": str(options.data_folder()),
        "DATABASE_URL": url,
        "STUDIO_SECRET_KEY": settings.SECRET_KEY,
    }
    done = subprocess.run(  # noqa: S603 -- the program itself
        [sys.executable, str(settings.BASE_DIR / "manage.py"), "migrate", "--verbosity", "0"],
        env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode:
        raise BackupError(f"The target could not be prepared: {done.stderr.strip()[-300:]}")


@contextmanager
def _target(url: str) -> Iterator[BaseDatabaseWrapper]:
    facts: dict[str, Any] = env.postgres(url) if url else settings.SQLITE
    if not url:
        facts = facts | {"NAME": options.data_folder() / databases.SQLITE_FILE}
    known = connections.configure_settings({DEFAULT_DB_ALIAS: dict(facts)})
    connections.settings[TARGET] = known[DEFAULT_DB_ALIAS]
    try:
        yield connections[TARGET]
    finally:
        connections[TARGET].close()
        del connections[TARGET], connections.settings[TARGET]


def _models() -> list[type[Model]]:
    return [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy  # noqa: SLF001 -- documented by Django
    ]


def _copy_rows(target: BaseDatabaseWrapper) -> None:
    """Rows go as they are: no default, no moment of now is written in their place."""
    models = _models()
    with target.cursor() as cursor:
        for model in reversed(models):
            table = target.ops.quote_name(model._meta.db_table)  # noqa: SLF001 -- as above
            cursor.execute(f"DELETE FROM {table}")
        for model in models:
            fields = model._meta.concrete_fields  # noqa: SLF001 -- as above
            rows = model._base_manager.order_by("pk").iterator(AT_ONCE)  # noqa: SLF001 -- as above
            most = max(1, target.ops.bulk_batch_size(fields, [None] * AT_ONCE))
            while batch := list(islice(rows, min(most, AT_ONCE))):
                query = InsertQuery(model)
                query.insert_values(fields, batch, raw=True)
                query.get_compiler(using=TARGET).execute_sql()
        for statement in target.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)


@contextmanager
def _reader(database: BaseDatabaseWrapper) -> Iterator[tuple[Read, databases.Columns]]:
    with database.cursor() as cursor:

        def read(sql: str) -> Any:
            cursor.execute(sql)
            return cursor.fetchall()

        postgres = database.vendor == "postgresql"
        columns_of = databases.postgres_columns if postgres else databases.sqlite_columns
        yield read, columns_of(read)


def figures_of(database: BaseDatabaseWrapper) -> Figures:
    """What can be counted, without what each database tells of itself."""
    with _reader(database) as (read, columns):
        columns.pop(ITS_OWN, None)
        return read_figures(read, columns)


def file_faults(figures: Figures) -> list[str]:
    """Sentences on stored files that are missing, and papers that are not as they were issued."""
    with _reader(connection) as (read, columns):
        names = databases.file_columns(columns)
        digests = {}
        for name in databases.stored_names(read, names):
            if default_storage.exists(name):
                with default_storage.open(name) as file:
                    digests[f"files/{name}"] = digest(file)
        manifest = Manifest(
            "", "", "", [], figures, digests, names, databases.paper_columns(columns)
        )
        return databases.check_files(read, manifest)
