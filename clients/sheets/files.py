"""One client's sheets as a table: a row for each sheet, a column for each measure ever taken."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from uuid import uuid4

from django.core.files.base import File

from clients.fields import unit_of
from clients.fit.checks import Doubt, doubts
from clients.fit.lengths import Length, plain, split_unit
from clients.fit.measures import Spot, spot_name, spots
from clients.models import Client, Sheet
from clients.sheets.forms import SheetForm, field_name
from clients.sheets.queries import own_ranges, sheets_of, taking_of
from studio.shop.files import Entry, UnreadableFileError, parse_csv, read_text
from studio.shop.models import Profile
from studio.shop.text import fold

# Headings of what is not a measure, by the names of the form's fields.
FACTS = {
    "taken_on": "Date",
    "consent_on": "Agreed on",
    "waist_at": "Waist taken",
    "front_from": "Front length from",
    "worn": "Worn",
    "heel": "Heel height",
    "minor": "Minor",
    "guardian": "Guardian",
    "note": "Note",
    "sensitive": "Note tells of health",
}
DAYS, TICKS = ("taken_on", "consent_on"), ("minor", "sensitive")
CHOICES = {"waist_at": Sheet.WaistAt, "front_from": Sheet.FrontFrom}
ISO = re.compile(r"\d{4}-\d{2}-\d{2}")
FIELDS = {fold(heading): name for name, heading in FACTS.items()} | {
    fold(spot_name(spot)): field_name(spot) for spot in spots()
}


def headings(sheets: Sequence[Sheet]) -> list[str]:
    """The columns of a table of these sheets."""
    taken = {(one.key, one.side) for sheet in sheets for one in sheet.values.all()}
    return [*FACTS.values(), *(spot_name(spot) for spot in spots() if spot in taken)]


def sheet_rows(sheets: Sequence[Sheet]) -> Iterator[list[str]]:
    """One row a sheet; days in ISO 8601, lengths as they were typed and always with their unit."""
    names = [FIELDS[fold(heading)] for heading in headings(sheets)]
    for sheet in sheets:
        told = {name: str(getattr(sheet, name)) for name in ("worn", "guardian", "note")}
        told |= {name: getattr(sheet, name).isoformat() for name in DAYS}
        told |= {name: "yes" if getattr(sheet, name) else "no" for name in TICKS}
        told["waist_at"] = sheet.get_waist_at_display()
        told["front_from"] = sheet.get_front_from_display()
        if sheet.heel_mm is not None:
            told["heel"] = f"{sheet.heel_mm.normalize():f} mm"
        for spot, length in taking_of(sheet).lengths.items():
            told[field_name(spot)] = _with_unit(length)
        yield [told.get(name, "") for name in names]


def _with_unit(length: Length) -> str:
    _, own = split_unit(plain(length.typed))
    return length.typed if own else f"{length.typed} {length.unit}"


def read_table(text: str, *, most_rows: int) -> tuple[list[Entry], list[str]]:
    """The sheets of a table as the form is sent, and headings that mean nothing here.

    Raises UnreadableFileError for what is no table of sheets.
    """
    rows = parse_csv(text, most_rows=most_rows)
    columns = list(rows[0].cells) if rows else []
    if "date" not in columns:
        raise UnreadableFileError("The table needs a column with the heading “date”, and rows.")
    unknown = [name for name in columns if name not in FIELDS]
    return [_entry(row.line, row.cells) for row in rows], unknown


def _entry(line: int, cells: dict[str, str]) -> Entry:
    told = {FIELDS[name]: cell.strip() for name, cell in cells.items() if name in FIELDS}
    entry = Entry(line, {name: cell for name, cell in told.items() if cell})
    for name in DAYS:
        if (day := entry.facts.get(name)) and not ISO.fullmatch(day):
            entry.problems.append(f"{FACTS[name]}: write it as 2026-11-27.")
    for name in TICKS:
        says = fold(entry.facts.pop(name, "no"))
        if says == "yes":
            entry.facts[name] = "on"
        elif says != "no":
            entry.problems.append(f"{FACTS[name]}: write yes or no.")
    for name, choices in CHOICES.items():
        if typed := entry.facts.get(name):
            values = {fold(str(label)): value for value, label in choices.choices}
            entry.facts[name] = values.get(fold(typed), typed)
    if entry.facts.get("consent_on"):
        entry.facts["agreed"] = "on"
    return entry


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
