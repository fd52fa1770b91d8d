"""A file of sheets, each row checked as if it were typed, and compared with what is here."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from uuid import uuid4

from django.core.files.base import File

from clients.entries import Entry
from clients.fields import unit_of
from clients.fit.checks import Doubt, doubts
from clients.fit.measures import Spot
from clients.models import Client
from clients.sheets.csvfile import read_table
from clients.sheets.forms import SheetForm
from clients.sheets.queries import own_ranges, sheets_of, taking_of
from studio.shop.models import Profile
from studio.shop.textfile import UnreadableFileError, read_text

MOST_SHEETS = 500
Mark = tuple[date, frozenset[tuple[Spot, Decimal]]]  # what makes two sheets the same


@dataclass
class Reading:
    """What a file holds. ``unknown`` are headings that mean nothing here."""

    entries: list[Entry]
    unknown: list[str] = field(default_factory=list)

    @property
    def wrong(self) -> list[Entry]:
        return [entry for entry in self.entries if entry.problems]

    @property
    def right(self) -> list[Entry]:
        return [entry for entry in self.entries if not entry.problems]


@dataclass(frozen=True)
class Found:
    """A row that can be taken: its form, whether the sheet is here already, and what looks odd."""

    line: int
    form: SheetForm
    here: bool
    doubts: list[Doubt]

    @property
    def day(self) -> date:
        return self.form.cleaned_data["taken_on"]

    @property
    def count(self) -> int:
        return len(self.form.lengths())


def read_file(uploaded: File, *, client: Client, studio: Profile) -> Reading:
    """The sheets of a table. Raises UnreadableFileError if it is none."""
    entries, unknown = read_table(read_text(uploaded), most_rows=MOST_SHEETS)
    if not entries:
        raise UnreadableFileError("There is no sheet in the file but the headings.")
    for entry in entries:
        entry.facts |= {"client": str(client.pk), "form_key": str(uuid4())}
        if not entry.problems:
            form = SheetForm(entry.facts, studio=studio)
            for name, errors in form.errors.items():
                label = f"{form[name].label}: " if name in form.fields else ""
                entry.problems += [f"{label}{error}" for error in errors]
    return Reading(entries, unknown)


def sort_out(entries: Iterable[Entry], *, client: Client, studio: Profile) -> list[Found]:
    """Rows without a problem against the sheets that are here. A constant number of queries."""
    takings = [taking_of(sheet) for sheet in sheets_of(client)]
    here = {_mark(taking.day, taking.values.items()) for taking in takings}
    ranges, unit = own_ranges(), unit_of(studio)
    found = []
    for entry in entries:
        form = SheetForm(entry.facts, studio=studio)
        if not form.is_valid():
            continue
        taking = form.taking()
        mark = _mark(taking.day, taking.values.items())
        odd = doubts(taking, unit=unit, ranges=ranges)
        found.append(Found(entry.line, form, mark in here, odd))
        here.add(mark)
    return found


def _mark(day: date, values: Iterable[tuple[Spot, Decimal]]) -> Mark:
    return day, frozenset(values)
