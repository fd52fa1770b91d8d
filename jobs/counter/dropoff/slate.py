"""What has been chalked down at the counter so far: exactly as typed, nothing read into it yet.

The whole drop-off is one HTML form. A field of the ticket is named ``event``, one of its first
garment ``g0-colour``, one of that garment's second line ``g0-l1-amount``.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from django.utils.datastructures import MultiValueDict

NAME = re.compile(r"g(\d{1,3})-(?:l(\d{1,3})-)?([a-z_]+)", re.ASCII)
SMALL = re.compile(r"\d{1,3}", re.ASCII)
MOST_GARMENTS = 40
MOST_LINES = 20

Row = TypeVar("Row")


class Typed(dict[str, list[str]]):
    """Field name to what was typed or ticked."""

    def text(self, name: str) -> str:
        values = self.get(name)
        return values[-1] if values else ""

    def put(self, **values: object) -> None:
        for name, value in values.items():
            self[name] = [str(value)]


@dataclass
class LineSlate:
    typed: Typed = field(default_factory=Typed)


@dataclass
class GarmentSlate:
    typed: Typed = field(default_factory=Typed)
    lines: list[LineSlate] = field(default_factory=list)
    wrong_pictures: list[str] = field(default_factory=list)


@dataclass
class Slate:
    """``focus`` is the id of the element that the next page puts the cursor on."""

    typed: Typed = field(default_factory=Typed)
    garments: list[GarmentSlate] = field(default_factory=list)
    focus: str = ""

    def garment(self, index: str) -> GarmentSlate | None:
        return _at(self.garments, index)

    def line(self, garment: str, index: str) -> LineSlate | None:
        found = self.garment(garment)
        return _at(found.lines, index) if found else None

    def flat(self) -> MultiValueDict:
        """The whole slate under the names that the forms and the page use."""
        flat = MultiValueDict(self.typed)
        for i, garment in enumerate(self.garments):
            flat.update(_named(garment_prefix(i), garment.typed))
            for j, line in enumerate(garment.lines):
                flat.update(_named(line_prefix(i, j), line.typed))
        return flat


def garment_prefix(garment: int) -> str:
    return f"g{garment}"


def line_prefix(garment: int, line: int) -> str:
    return f"g{garment}-l{line}"


def read(posted: Iterable[tuple[str, list[str]]]) -> Slate:
    """The slate of a posted form. What is beyond the limits or has no place in it is left out."""
    slate = Slate()
    garments: dict[int, Typed] = {}
    lines: dict[int, dict[int, Typed]] = {}
    for name, values in posted:
        found = NAME.fullmatch(name)
        if not found:
            slate.typed[name] = list(values)
            continue
        garment, line, bare = int(found[1]), found[2], found[3]
        typed = garments.setdefault(garment, Typed())
        if line is not None:
            typed = lines.setdefault(garment, {}).setdefault(int(line), Typed())
        typed[bare] = list(values)
    for index in sorted(garments)[:MOST_GARMENTS]:
        of_garment = lines.get(index, {})
        rows = [LineSlate(of_garment[line]) for line in sorted(of_garment)[:MOST_LINES]]
        slate.garments.append(GarmentSlate(garments[index], rows))
    return slate


def _named(prefix: str, typed: Mapping[str, list[str]]) -> MultiValueDict:
    return MultiValueDict({f"{prefix}-{name}": values for name, values in typed.items()})


def _at(rows: list[Row], index: str) -> Row | None:
    place = int(index) if SMALL.fullmatch(index) else len(rows)
    return rows[place] if place < len(rows) else None
