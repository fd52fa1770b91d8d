"""One client's data as plain, nested data: what ``client.json`` holds."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any

from django.db.models import Field, FileField, ForeignKey, Model

from clients.models import Client
from jobs.counter.privacy.gathering import Rows
from jobs.counter.privacy.parts import LEFT_OUT, PARTS
from jobs.tickets.models import Photo
from studio.shop.models import StoredPaper, User

Facts = dict[str, Any]


def whole(held: Rows, files: Mapping[tuple[type[Model], int], str]) -> Facts:
    """The client with everything that hangs on it.

    ``files`` are the names in the archive of papers and pictures, by model and key. Whoever of
    the studio did something is told by name; other rows are named by their ``id``.
    """
    people = {user.pk: user.shown_name for user in User.objects.all()}
    children = _children(held)

    def tell(row: Model) -> Facts:
        told = {"id": row.pk} | {
            field.name: _value(field, row, people, files) for field in fields(type(row))
        }
        for part in PARTS:
            if isinstance(row, part.parent):
                told[part.key] = [tell(child) for child in children[part.model, row.pk]]
        return told

    own, *merged = held[Client]
    loose = [photo for photo in held[Photo] if photo.garment_id is None]
    return tell(own) | {
        "merged_entries": [tell(entry) for entry in merged],
        "photographs_of_no_garment": [tell(photo) for photo in loose],
    }


def fields(model: type[Model]) -> Iterator[Field]:
    """The fields that are told of a row: all but its key, its owner, and ``LEFT_OUT``."""
    owners = {part.owner for part in PARTS if part.model is model}
    for field in model._meta.concrete_fields:  # noqa: SLF001 -- documented by Django
        if not (field.primary_key or field.name in owners or str(field) in LEFT_OUT):
            yield field


def _children(held: Rows) -> dict[tuple[type[Model], int], list[Model]]:
    children: dict[tuple[type[Model], int], list[Model]] = defaultdict(list)
    for part in PARTS:
        for row in held[part.model]:
            children[part.model, getattr(row, f"{part.owner}_id")].append(row)
    return children


def _value(
    field: Field,
    row: Model,
    people: Mapping[int, str],
    files: Mapping[tuple[type[Model], int], str],
) -> Any:
    value = field.value_from_object(row)
    if isinstance(field, ForeignKey) and field.related_model is User:
        return people.get(value, "")
    if isinstance(field, ForeignKey) and field.related_model is StoredPaper:
        return files.get((StoredPaper, value), "")
    return files.get((type(row), row.pk), "") if isinstance(field, FileField) else value
