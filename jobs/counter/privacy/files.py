"""Papers and pictures of one client, and what they are called in the archive."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import PurePosixPath

from django.core.files.storage import Storage
from django.db.models import Model
from django.utils.text import slugify

from jobs.counter.privacy.gathering import Rows
from jobs.counter.privacy.parts import PARTS
from jobs.tickets.models import Agreement, Garment, Initials, Photo, Ticket
from studio.shop.models import StoredPaper


@dataclass(frozen=True)
class Kept:
    """A stored file of the row ``model`` and ``pk``: its ``name`` in the archive and on disk."""

    model: type[Model]
    pk: int
    name: str
    path: str
    storage: Storage


def kept_files(held: Rows) -> list[Kept]:
    """Photographs, then initials, then papers, each in the order in which they were made."""
    return [*_pictures(held), *_papers(held)]


def _pictures(held: Rows) -> Iterator[Kept]:
    numbers = {ticket.pk: ticket.number for ticket in held[Ticket]}
    tags = {piece.pk: f"{numbers[piece.ticket_id]}-{piece.letter}" for piece in held[Garment]}
    counted: Counter[str] = Counter()
    for photo in held[Photo]:
        tag = tags.get(photo.garment_id, "no-garment")
        counted[tag] += 1
        yield _kept(photo, f"photographs/{tag}-{counted[tag]}")
    versions = {one.pk: f"{numbers[one.ticket_id]}-{one.version}" for one in held[Agreement]}
    for initials in held[Initials]:
        if initials.file:
            yield _kept(initials, f"initials/{versions[initials.agreement_id]}")


def _papers(held: Rows) -> Iterator[Kept]:
    keys = {
        getattr(row, f"{name}_id")
        for part in PARTS
        for name in part.papers
        for row in held[part.model]
    }
    named: Counter[str] = Counter()
    for paper in StoredPaper.objects.filter(pk__in=keys - {None}).order_by("pk"):
        name = slugify(paper.name)
        named[name] += 1
        again = f"-{named[name]}" if named[name] > 1 else ""
        yield _kept(paper, f"papers/{name}{again}")


def _kept(row: Photo | Initials | StoredPaper, name: str) -> Kept:
    path = str(row.file.name)
    suffix = PurePosixPath(path).suffix.lower()
    return Kept(type(row), row.pk, f"{name}{suffix}", path, row.file.storage)
