"""What the newest sheet of the client that a make is for says of the pattern's sizes."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from clients.fit.lengths import Unit, show_change
from clients.fit.measures import MEASURES
from clients.fit.sizes import (
    GIRTHS,
    HIGH_BUST,
    LOWER,
    UPPER,
    NearestSize,
    nearest_size,
    sizes_of_rows,
)
from clients.models import Client
from clients.sheets.known import Body, BodyFact, bodies_of
from jobs.makes.models import Make
from studio.shop.look.garments import drawing_of
from studio.shop.models import User

LOWER_BODY = frozenset({"jeans", "shorts", "trousers", "skirt"})


@dataclass(frozen=True)
class BySheet:
    """``facts`` are girths, each with its sheet; ``nearest`` is None where it cannot be said."""

    client: Client
    facts: list[BodyFact]
    nearest: NearestSize | None = None

    @property
    def newest(self) -> BodyFact:
        return max(self.facts, key=lambda fact: (fact.day, fact.sheet.pk))

    @property
    def day(self) -> date:
        return self.newest.day

    @property
    def doubt(self) -> str:
        return self.newest.doubt

    @property
    def child(self) -> bool:
        return self.newest.sheet.minor

    @property
    def by(self) -> str:
        return MEASURES[self.nearest.by].name.lower() if self.nearest else ""

    def to_alter(self, unit: Unit) -> list[str]:
        """``bust +2 cm``: by how much the body differs from the nearest size."""
        more = self.nearest.more if self.nearest else {}
        return [
            f"{MEASURES[key].name.lower()} {show_change(mm, unit)} {unit}"
            for key, mm in more.items()
        ]


def by_sheet(makes: Iterable[Make], *, by: User) -> dict[int, BySheet]:
    """By key of the make, for those with a client who was measured, as far as ``by`` may know.

    Three queries, none where no make is for a client; the makes come with ``made_for__client``
    and their pattern.
    """
    clients = {make: make.client for make in makes}
    theirs = {client for client in clients.values() if client}
    bodies = bodies_of(theirs, by=by) if theirs else {}
    return {
        make.pk: told
        for make, client in clients.items()
        if client and (told := _of(make, client, bodies.get(client.pk) or Body()))
    }


def _of(make: Make, client: Client, body: Body) -> BySheet | None:
    facts = body.of((HIGH_BUST, *GIRTHS))
    if not facts:
        return None
    garment = make.pattern.garment if make.pattern else ""
    lower = any(drawing_of(words) in LOWER_BODY for words in (make.kind or garment, make.words))
    sizes = sizes_of_rows(make.pattern.body_sizes) if make.pattern else []
    girths = {fact.key: max(length.mm for length in fact.sides.values()) for fact in facts}
    return BySheet(client, facts, nearest_size(girths, sizes, LOWER if lower else UPPER))
