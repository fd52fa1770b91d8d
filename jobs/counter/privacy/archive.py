"""Everything that is kept of one client in one ZIP file: record, tables, pictures and papers."""

import json
import zipfile
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from tempfile import SpooledTemporaryFile
from typing import IO, Any

from django.core.files.storage import Storage
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Field, FileField, ForeignKey, Model, prefetch_related_objects
from django.template.loader import render_to_string
from django.utils.text import slugify

from clients.models import Client, Measured, OwnMeasure, Sheet
from clients.sheets.queries import named_pieces
from jobs.billing.models import Invoice, Payment
from jobs.counter.privacy.belongings import LEFT_OUT, PARTS, Rows, belongings, papers_of
from jobs.tickets.models import Agreement, Garment, Initials, Line, Photo, Ticket
from studio.shop import clock
from studio.shop.files import write_csv
from studio.shop.history.recording import Key, key_of
from studio.shop.models import Entry, Profile, StoredPaper, User
from studio.shop.money import to_decimal

Facts = dict[str, Any]
Cells = Sequence[Any]

# Above this an archive under way is kept in a file that vanishes when it is closed.
MOST_IN_MEMORY = 8 * 1024 * 1024
# The earliest day a ZIP file can tell: two archives of the same data are the same bytes.
NO_DAY = (1980, 1, 1, 0, 0, 0)
BYTE_ORDER_MARK = "\ufeff"

TICKETS = [
    "ticket", "received", "ready by", "state", "letter", "garment", "colour", "description",
    "operation",
    "pinned amount", "quantity", "unit price", "currency",
]  # fmt: skip
MEASURES = ["taken on", "measure", "side", "as typed", "unit", "millimetres", "a minor"]
BOOKS = ["number", "kind", "day", "ticket", "amount", "currency"]


@dataclass(frozen=True)
class StoredFile:
    """A stored file of the row ``model`` and ``pk``: its ``name`` in the archive and on disk."""

    model: type[Model]
    pk: int
    name: str
    path: str
    storage: Storage


def write_archive(client: Client, studio: Profile) -> IO[bytes]:
    """The archive, opened at its beginning. The README comes first and names the rest.

    A stored file that is gone from the disk is named in the README instead of being in it.
    """
    held = belongings(client)
    prefetch_related_objects(held[Measured], "own")
    files = kept_files(held)
    named = {(file.model, file.pk): file.name for file in files}
    record = json.dumps(whole(held, named), cls=DjangoJSONEncoder, ensure_ascii=False, indent=2)
    missing = [file.name for file in files if not file.storage.exists(file.path)]
    facts = {"client": client, "studio": studio, "day": clock.today(), "missing": missing}
    spooled = SpooledTemporaryFile(max_size=MOST_IN_MEMORY)  # noqa: SIM115 -- the response closes it
    with zipfile.ZipFile(spooled, "w") as archive:
        _write(archive, "README.txt", render_to_string("counter/privacy/readme.txt", facts))
        _write(archive, "client.json", record)
        for name, table in tables(held).items():
            _write(archive, name, BYTE_ORDER_MARK + table)
        for file in files:
            if file.name not in missing:
                _copy(archive, file)
    spooled.seek(0)
    return spooled


def _write(archive: zipfile.ZipFile, name: str, text: str) -> None:
    archive.writestr(_entry(name), text.encode(), zipfile.ZIP_DEFLATED)


def _copy(archive: zipfile.ZipFile, stored: StoredFile) -> None:
    """Pictures and PDF are packed already."""
    with stored.storage.open(stored.path, "rb") as file:
        archive.writestr(_entry(stored.name), file.read(), zipfile.ZIP_STORED)


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, NO_DAY)
    entry.external_attr = 0o600 << 16
    return entry


def whole(held: Rows, files: Mapping[tuple[type[Model], int], str]) -> Facts:
    """The client with everything that hangs on it.

    ``files`` are the names in the archive of papers and pictures, by model and key. Whoever of
    the studio did something is told by name; other rows are named by their ``id``.
    """
    people = {user.pk: user.shown_name for user in User.objects.all()}
    children = _children(held)
    about: dict[Key, list[Entry]] = defaultdict(list)
    for entry in held[Entry]:
        for subject in entry.subjects.all():
            about[subject.label, subject.row].append(entry)

    def tell(row: Model) -> Facts:
        facts = {"id": row.pk} | {
            field.name: _value(field, row, people, files) for field in fields(type(row))
        }
        for part in PARTS:
            if isinstance(row, part.parent):
                facts[part.key] = [tell(child) for child in children[part.model, row.pk]]
        if isinstance(row, (Client, Ticket)):
            facts["history"] = [_told(entry, people) for entry in about[key_of(row)]]
        return facts

    own, *merged = held[Client]
    loose = [photo for photo in held[Photo] if photo.garment_id is None]
    return tell(own) | {
        "merged_entries": [tell(entry) for entry in merged],
        "photographs_of_no_garment": [tell(photo) for photo in loose],
    }


def _told(entry: Entry, people: Mapping[int, str]) -> Facts:
    """What was done and changed. What was undone may tell of another person, as a merge does."""
    return {
        "at": entry.at,
        "by": people.get(entry.by_id or 0, ""),
        "verb": entry.verb,
        "parameters": entry.parameters,
        "changes": [] if entry.undone_at else entry.changes,
        "undone_at": entry.undone_at,
    }


def fields(model: type[Model]) -> "Iterator[Field[Any, Any]]":
    """The fields that are told of a row: all but its key, its owner, and ``LEFT_OUT``."""
    owners = {part.owner for part in PARTS if part.model is model}
    for field in model._meta.concrete_fields:  # noqa: SLF001 -- documented by Django
        if not (field.primary_key or field.name in owners or str(field) in LEFT_OUT):
            yield field


def _children(held: Rows) -> dict[tuple[type[Model], int], list[Model]]:
    children: dict[tuple[type[Model], int], list[Model]] = defaultdict(list)
    for part in PARTS:
        for row in held[part.model]:
            owner = getattr(row, f"{part.owner}_id")
            if owner is None and part.parent is Client:  # a row of a file that has the name
                owner = held[Client][0].pk
            children[part.model, owner].append(row)
    return children


def _value(
    field: "Field[Any, Any]",
    row: Model,
    people: Mapping[int, str],
    files: Mapping[tuple[type[Model], int], str],
) -> Any:
    value = field.value_from_object(row)
    if isinstance(field, ForeignKey) and field.related_model is User:
        return people.get(value, "")
    if isinstance(field, ForeignKey) and field.related_model is OwnMeasure and value:
        return str(getattr(row, field.name))
    if str(field) == "tickets.Garment.measures":
        return named_pieces(value)
    if isinstance(field, ForeignKey) and field.related_model is StoredPaper:
        return files.get((StoredPaper, value), "")
    return files.get((type(row), row.pk), "") if isinstance(field, FileField) else value


def tables(held: Rows) -> dict[str, str]:
    """The text of each table by its name in the archive."""
    return {
        "tickets.csv": write_csv(_lines(held), TICKETS),
        "measures.csv": write_csv(_measures(held), MEASURES),
        "invoices.csv": write_csv(_books(held), BOOKS),
    }


def _lines(held: Rows) -> Iterator[Cells]:
    tickets = {ticket.pk: ticket for ticket in held[Ticket]}
    garments = {garment.pk: garment for garment in held[Garment]}
    for line in (line for line in held[Line] if line.removed_at is None):
        garment = garments[line.garment_id]
        ticket = tickets[garment.ticket_id]
        received, promised = clock.local(ticket.received_at), clock.local(ticket.promise_at)
        yield [
            ticket.number, received.date(), promised.isoformat(timespec="minutes"), ticket.state,
            garment.letter, garment.kind_name, garment.colour, garment.description, line.name,
            line.pinned, line.quantity, to_decimal(line.unit_price, ticket.currency),
            ticket.currency,
        ]  # fmt: skip


def _measures(held: Rows) -> Iterator[Cells]:
    sheets = {sheet.pk: sheet for sheet in held[Sheet]}
    for measure in held[Measured]:
        sheet = sheets[measure.sheet_id]
        minor = "yes" if sheet.minor else "no"
        name = measure.own.name if measure.own else measure.key
        yield [
            sheet.taken_on, name, measure.side, measure.typed,
            measure.unit, measure.mm, minor,
        ]  # fmt: skip


def _books(held: Rows) -> Iterator[Cells]:
    numbers = {ticket.pk: ticket.number for ticket in held[Ticket]}
    entries = [(row, row.issued_on, row.gross) for row in held[Invoice]]
    entries += [(row, row.day, row.amount) for row in held[Payment]]
    for row, day, minor in entries:
        amount = to_decimal(minor, row.currency)
        yield [row.number, row.kind, day, numbers[row.ticket_id], amount, row.currency]


def kept_files(held: Rows) -> list[StoredFile]:
    """Photographs, then initials, then papers, each in the order in which they were made."""
    return [*_pictures(held), *_papers(held)]


def _pictures(held: Rows) -> Iterator[StoredFile]:
    numbers = {ticket.pk: ticket.number for ticket in held[Ticket]}
    tags = {piece.pk: f"{numbers[piece.ticket_id]}-{piece.letter}" for piece in held[Garment]}
    counted: Counter[str] = Counter()
    for photo in held[Photo]:
        tag = tags.get(photo.garment_id, "no-garment")
        counted[tag] += 1
        yield _stored(photo, f"photographs/{tag}-{counted[tag]}")
    versions = {
        agreed.pk: f"{numbers[agreed.ticket_id]}-{agreed.version}" for agreed in held[Agreement]
    }
    for initials in held[Initials]:
        if initials.file:
            yield _stored(initials, f"initials/{versions[initials.agreement_id]}")


def _papers(held: Rows) -> Iterator[StoredFile]:
    named: Counter[str] = Counter()
    for paper in papers_of(held):
        name = slugify(paper.name)
        named[name] += 1
        again = f"-{named[name]}" if named[name] > 1 else ""
        yield _stored(paper, f"papers/{name}{again}")


def _stored(row: Photo | Initials | StoredPaper, name: str) -> StoredFile:
    path = str(row.file.name)
    suffix = PurePosixPath(path).suffix.lower()
    return StoredFile(type(row), row.pk, f"{name}{suffix}", path, row.file.storage)
