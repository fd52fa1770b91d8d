"""Marks on photographs, as screens and papers show them."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby

from jobs.tickets.models import Mark, Photo, Ticket

WIDE = 1000  # units across a drawing; a mark's thousandths are its place


@dataclass(frozen=True)
class Spot:
    """A mark where it is drawn: ``x`` and ``y`` are units of the drawing."""

    pk: int
    number: int
    x: int
    y: int
    words: str


@dataclass(frozen=True)
class Marked:
    """A photograph with the marks that stand on it. Its drawing is ``WIDE`` by ``high`` units.

    ``pending`` is a place without words yet.
    """

    photo: Photo
    spots: tuple[Spot, ...]
    pending: tuple[int, int] | None = None

    @property
    def high(self) -> int:
        return height(self.photo)


def height(photo: Photo) -> int:
    """The height of the drawing over a photograph, in units."""
    return max(1, WIDE * photo.height // photo.width)


def marked_photo(photo: Photo, pending: tuple[int, int] | None = None) -> Marked:
    """The photograph with its marks of now; one query. ``pending`` is in thousandths."""
    marked = _marked(photo, photo.marks.all(), None)
    if pending is None:
        return marked
    across, down = pending
    return replace(marked, pending=(across, down * marked.high // 1000))


def marked_photos(ticket: Ticket, until: datetime | None = None) -> list[Marked]:
    """The ticket's photographs that had marks ``until`` then (None: now), in one query."""
    marks = Mark.objects.filter(photo__garment__ticket=ticket)
    marks = marks.select_related("photo__garment").order_by("photo", "pk")
    found = [_marked(photo, rows, until) for photo, rows in groupby(marks, lambda one: one.photo)]
    return [marked for marked in found if marked.spots]


def _marked(photo: Photo, marks: Iterable[Mark], until: datetime | None) -> Marked:
    """Numbers count removed marks too, so that a number means one thing on all papers."""
    high = height(photo)
    spots = (
        Spot(mark.pk, number, mark.across, mark.down * high // 1000, mark.words)
        for number, mark in enumerate(marks, start=1)
        if _stood(mark, until)
    )
    return Marked(photo, tuple(spots))


def _stood(mark: Mark, until: datetime | None) -> bool:
    if until is None:
        return mark.removed_at is None
    return mark.at <= until and (mark.removed_at is None or mark.removed_at > until)
