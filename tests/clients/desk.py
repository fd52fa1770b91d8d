"""A file sent to the import desk, by the actions that its pages call."""

from hashlib import sha256

from django.db import connection

from clients.desk import actions
from clients.files import open_file
from clients.models import ClientFile, FileRow
from studio.shop.files import decoded
from studio.shop.models import User
from tests.factories import UserFactory


def read(text: str | bytes, by: User | None = None, columns: dict | None = None) -> ClientFile:
    """The file with its rows read, its columns taken as guessed but for ``columns``."""
    opened = open_file(decoded(text if isinstance(text, bytes) else text.encode()).text)
    by = by or UserFactory()
    file = actions.keep_file(name="clients.csv", opened=opened, by=by)
    if opened.headings:
        actions.choose_columns(file=file, columns=file.columns | (columns or {}))
    return on(file, by)


def on(file: ClientFile, by: User) -> ClientFile:
    """Until what is under way is done."""
    while (file := actions.go_on(file=file, by=by)).state in {"reading", "taking", "undoing"}:
        pass
    return file


def taken(text: str | bytes, by: User | None = None, anyway=()) -> ClientFile:
    """The same, taken as it was proposed, and with who is on the lines ``anyway``."""
    by = by or UserFactory()
    file = read(text, by)
    file.rows.filter(line__in=anyway).update(ticked=True)
    if file.rows.filter(actions.TO_TAKE).exists():
        actions.start_taking(file=file)
    return on(file, by)


def take(text: str | bytes, by: User | None = None, anyway=()) -> tuple[int, int, int]:
    """How many were added, changed and left out."""
    counts = actions.counts(taken(text, by, anyway))
    return counts["added"], counts["changed"], counts["left"]


def row(file: ClientFile, line: int) -> FileRow:
    return file.rows.get(line=line)


def clients_hash() -> str:
    """Of every row of the clients' tables, whatever it holds."""
    digest = sha256()
    for table in ("clients_client", "clients_contact"):
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT * FROM {table} ORDER BY id")  # noqa: S608 -- our own tables
            for found in cursor.fetchall():
                digest.update(repr(found).encode())
    return digest.hexdigest()
