"""Everything out, for whoever leaves: each table as CSV and as JSON, pictures and papers.

Figures are written as the database holds them: money in minor units, lengths as decimals with
their places. Nothing passes through a binary fraction.
"""

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from decimal import Decimal
from tempfile import TemporaryFile
from typing import IO, Any

from django.apps import apps
from django.contrib.sessions.models import Session
from django.core.files.storage import default_storage
from django.core.serializers.json import DjangoJSONEncoder
from django.db import transaction
from django.db.models import Field, FileField, Model
from django.db.models.fields.json import JSONField

from studio.backup.core import archive
from studio.shop import clock
from studio.shop.models import CodeApp, LoginBucket, Passkey, Profile, RecoveryCode, User

LEFT_OUT = {Session, LoginBucket, CodeApp, Passkey, RecoveryCode}
"""Who is logged in, who tried to, and what with besides the password."""
SECRET = {(User, "password")}
AT_ONCE = 500

README = """{name}, all of it, {day}

tables/NAME.csv   each table as a spreadsheet reads it, UTF-8, first row the columns
tables/NAME.json  the same rows, a list of objects
files/...         photographs, drawings and issued papers, under the names that the tables use

Money is whole minor units of the currency beside it (1050 is 10.50 euro). Lengths are millimetres.
Times are UTC. Empty cells are nothing; columns that end in _id name the id of another row.
Passwords, and who is logged in, are left out.
"""


def models() -> list[type[Model]]:
    """Every table, by the name it has in the database."""
    found = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model not in LEFT_OUT and model._meta.managed and not model._meta.proxy  # noqa: SLF001
    ]
    return sorted(found, key=lambda model: model._meta.db_table)  # noqa: SLF001 -- documented


def write_everything(studio: Profile) -> IO[bytes]:
    """The archive in a file that vanishes when it is closed, opened at its beginning."""
    target = TemporaryFile()  # noqa: SIM115 -- the response closes it
    with zipfile.ZipFile(target, "w") as zipped, transaction.atomic():
        readme = README.format(name=studio.name, day=clock.today())
        archive.add_text(zipped, "README.txt", readme)
        stored: set[str] = set()
        for model in models():
            name = model._meta.db_table  # noqa: SLF001 -- documented by Django
            for ending, write in (("csv", _write_csv), ("json", _write_json)):
                entry = zipfile.ZipInfo(f"tables/{name}.{ending}", archive.NO_DAY)
                entry.compress_type = zipfile.ZIP_DEFLATED
                with (
                    zipped.open(entry, "w", force_zip64=True) as raw,
                    io.TextIOWrapper(raw, "utf-8", newline="") as text,
                ):
                    write(model, text)
            stored |= _stored(model)
        for path in sorted(stored):
            try:
                with default_storage.open(path) as file:
                    archive.add(zipped, f"files/{path}", file, packed=True)
            except FileNotFoundError:
                continue
    target.seek(0)
    return target


def columns_of(model: type[Model]) -> "list[Field[Any, Any]]":
    """The columns that are told: all but passwords."""
    fields = model._meta.concrete_fields  # noqa: SLF001 -- documented by Django
    return [field for field in fields if (model, field.name) not in SECRET]


def rows_of(model: type[Model]) -> Iterator[dict[str, Any]]:
    """The rows by their key, a value for each column."""
    fields = columns_of(model)
    for row in model._base_manager.order_by("pk").iterator(AT_ONCE):  # noqa: SLF001 -- as above
        yield {str(field.column): field.value_from_object(row) for field in fields}


def _write_csv(model: type[Model], text: IO[str]) -> None:
    text.write("\ufeff")
    fields = columns_of(model)
    columns = [str(field.column) for field in fields]
    nested = {str(field.column) for field in fields if isinstance(field, JSONField)}
    table = csv.writer(text)
    table.writerow(columns)
    for row in rows_of(model):
        table.writerow([_cell(row[name], nested=name in nested) for name in columns])


def _cell(value: Any, *, nested: bool) -> str:
    if value is None:
        return ""
    if nested:
        return json.dumps(value, cls=DjangoJSONEncoder, ensure_ascii=False)
    if isinstance(value, Decimal):
        return f"{value:f}"
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


def _write_json(model: type[Model], text: IO[str]) -> None:
    text.write("[")
    for count, row in enumerate(rows_of(model)):
        facts = {
            name: str(value) if hasattr(value, "storage") else value for name, value in row.items()
        }
        text.write(",\n" if count else "\n")
        text.write(json.dumps(facts, cls=DjangoJSONEncoder, ensure_ascii=False))
    text.write("\n]\n")


def _stored(model: type[Model]) -> set[str]:
    names: set[str] = set()
    for field in model._meta.concrete_fields:  # noqa: SLF001 -- documented by Django
        if isinstance(field, FileField):
            paths = model._base_manager.values_list(field.name, flat=True)  # noqa: SLF001 -- as above
            names |= {path for path in paths if path}
    return names
