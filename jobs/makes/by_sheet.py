"""What the newest sheet of the client that a make is for says of the pattern's sizes."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property

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
from jobs.makes.models import Make, Pattern
from jobs.makes.patterns.queries import uses_of
from studio.shop.look.garments import drawing_of
from studio.shop.models import User

LOWER_BODY = frozenset({"jeans", "shorts", "trousers", "skirt"})


@dataclass(frozen=True)
class PatternSize:
    """The size of one pattern of a make that is nearest, by which measure, and the one it is sewn
    in; ``to_alter`` has by how much the body differs: ``bust +2 cm``.
    """

    pattern: Pattern
    sewn: str
    nearest: str
    by: str
    to_alter: list[str]


@dataclass(frozen=True)
class BySheet:
    """``facts`` are girths of the client that ``make`` is for, each with its sheet."""

    make: Make
    client: Client
    facts: list[BodyFact]

    @property
    def newest(self) -> BodyFact:
        return max(self.facts, key=lambda fact: (fact.day, fact.sheet.pk))

    @property
    def day(self) -> date:
        return self.newest.day

    @property
    def doubt(self) -> str:
        """Why it is better measured again before cutting, if it is."""
        return self.newest.doubt or self.newest.growing

    @cached_property
    def nearest(self) -> NearestSize | None:
        """Of the first pattern; None where it cannot be said."""
        return self._nearest(self.make.pattern) if self.make.pattern else None

    def sizes(self, unit: Unit) -> list[PatternSize]:
        """Of every pattern of which it can be said; reads the further patterns of the make."""
        rows = []
        for use in uses_of(self.make):
            if near := self._nearest(use.pattern):
                told = [
                    f"{MEASURES[key].name.lower()} {show_change(mm, unit)} {unit}"
                    for key, mm in near.more.items()
                ]
                by = MEASURES[near.by].name.lower()
                rows.append(PatternSize(use.pattern, use.size, near.name, by, told))
        return rows

    @property
    def bare(self) -> list[Pattern]:
        """Its patterns of whose envelope no body measures are known: no size can be said."""
        return [use.pattern for use in uses_of(self.make) if not use.pattern.body_sizes]

    def _nearest(self, pattern: Pattern) -> NearestSize | None:
        # What the make is called counts only where the envelope does not say.
        told = (pattern.garment,) if pattern.garment else (self.make.kind, self.make.words)
        lower = any(drawing_of(words) in LOWER_BODY for words in told)
        girths = {fact.key: max(one.mm for one in fact.sides.values()) for fact in self.facts}
        sizes = sizes_of_rows(pattern.body_sizes)
        return nearest_size(girths, sizes, LOWER if lower else UPPER)


def by_sheet(makes: Iterable[Make], *, by: User) -> dict[int, BySheet]:
    """By key of the make, for those with a client who was measured, as far as ``by`` may know.

    Three queries, none where no make is for a client; the makes come with ``made_for__client``
    and their pattern.
    """
    clients = {make: make.client for make in makes}
    theirs = {client for client in clients.values() if client}
    bodies = bodies_of(theirs, by=by) if theirs else {}
    return {
        make.pk: BySheet(make, client, facts)
        for make, client in clients.items()
        if client and (facts := (bodies.get(client.pk) or Body()).of((HIGH_BUST, *GIRTHS)))
    }
