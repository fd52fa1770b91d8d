"""One client's sheets as a table: a row for each sheet, a column for each measure ever taken."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import uuid4

from clients.fields import unit_of
from clients.fit.changes import Taking
from clients.fit.checks import Doubt, doubts
from clients.fit.measures import MEASURES, SIDES, Measures, Spot, spot_name, spots
from clients.fit.pieces import PIECES
from clients.models import Client, OwnMeasure, Sheet
from clients.sheets.forms import HEALTH, SheetForm, field_name
from clients.sheets.queries import all_measures, measures_of, own_ranges, sheets_of, taking_of
from studio.shop.files import Row, UnreadableFileError, parse_csv
from studio.shop.imports import Reading, check
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
    "born": "Year of birth",
    "guardian": "Guardian",
    "note": "Note",
    "sensitive": "Note tells of health",
    "pregnant": "Pregnant",
    "week": "Week of pregnancy",
}
DAYS, TICKS = ("taken_on", "consent_on"), ("minor", "sensitive", "pregnant")
MOST_SHEETS = 500
CHOICES = {"waist_at": Sheet.WaistAt, "front_from": Sheet.FrontFrom}
ISO = re.compile(r"\d{4}-\d{2}-\d{2}")


def fields_of(measures: Measures) -> dict[str, str]:
    """The names of the form's fields by their headings, folded."""
    return {fold(heading): name for name, heading in FACTS.items()} | {
        fold(spot_name(spot, measures)): field_name(spot) for spot in spots(measures)
    }


def twin_of(measure: OwnMeasure) -> str:
    """Why a measure cannot be called so: its heading is taken, or another of a garment has the
    name. Empty where it can. One query.
    """
    own = OwnMeasure.objects.filter(of=measure.of).exclude(pk=measure.pk)
    if measure.of == OwnMeasure.Of.GARMENT:
        pieces = [*PIECES.values(), *(row.as_piece() for row in own)]
        taken = {fold(name): key for piece in pieces for key, name in piece.fields.items()}
    else:
        taken = fields_of(MEASURES | measures_of(own))
    headings = (measure.name, *(f"{measure.name}, {side}" for side in SIDES))
    if not any(fold(heading) in taken for heading in headings):
        return ""
    return f"There is a measure or a heading “{measure.name}” already, perhaps a retired one."


def headings(sheets: Sequence[Sheet], *, health: bool) -> list[str]:
    """The columns of a table of these sheets, with what tells of ``health`` or without."""
    return [*facts_of(health).values(), *_taken(sheets).values()]


def facts_of(health: bool) -> dict[str, str]:
    return {name: words for name, words in FACTS.items() if health or name not in HEALTH}


def _taken(sheets: Sequence[Sheet]) -> dict[str, str]:
    """The headings of what was ever taken, in the order of the list, by the form's fields."""
    takings = [taking_of(sheet) for sheet in sheets]
    measures = {key: measure for taking in takings for key, measure in taking.measures.items()}
    taken = {spot for taking in takings for spot in taking.lengths}
    return {
        field_name(spot): spot_name(spot, measures) for spot in spots(measures) if spot in taken
    }


def sheet_rows(sheets: Sequence[Sheet], *, health: bool) -> Iterator[list[str]]:
    """One row a sheet; days in ISO 8601, lengths as they were typed and always with their unit.

    Without ``health`` what tells of it is left out.
    """
    names = [*facts_of(health), *_taken(sheets)]
    for sheet in sheets:
        cells = {name: str(getattr(sheet, name)) for name in ("worn", "guardian", "note")}
        if sheet.sensitive and not health:
            cells["note"] = ""
        cells |= {name: getattr(sheet, name).isoformat() for name in DAYS}
        cells |= {name: "yes" if getattr(sheet, name) else "no" for name in TICKS}
        cells |= {name: str(getattr(sheet, name) or "") for name in ("born", "week")}
        cells["waist_at"] = sheet.get_waist_at_display()
        cells["front_from"] = sheet.get_front_from_display()
        if sheet.heel_mm is not None:
            cells["heel"] = f"{sheet.heel_mm.normalize():f} mm"
        for spot, length in taking_of(sheet).lengths.items():
            cells[field_name(spot)] = length.with_unit
        yield [cells.get(name, "") for name in names]


def read_file(text: str, *, studio: Profile, health: bool) -> Reading:
    """The sheets of a table as the form is sent, each row checked as if it were typed.

    Without ``health`` the columns that tell of it are not read.
    Raises UnreadableFileError for what is no table of sheets.
    """
    rows = parse_csv(text, most_rows=MOST_SHEETS)
    columns = list(rows[0].cells) if rows else []
    if "date" not in columns:
        raise UnreadableFileError("The table needs a column with the heading “date”, and rows.")
    measures = all_measures()
    fields = fields_of(measures)
    if not health:
        fields = {heading: name for heading, name in fields.items() if name not in HEALTH}
    reading = Reading([_as_sent(row, fields) for row in rows])
    reading.unknown = [name for name in columns if name not in fields]
    for row in reading.right:
        check(row, SheetForm(row.cells, studio=studio, measures=measures))
    return reading


def _as_sent(row: Row, fields: Mapping[str, str]) -> Row:
    cells = {fields[name]: cell.strip() for name, cell in row.cells.items() if name in fields}
    sent = Row(row.line, {name: cell for name, cell in cells.items() if cell})
    for name in DAYS:
        if (day := sent.cells.get(name)) and not ISO.fullmatch(day):
            sent.problems.append(f"{FACTS[name]}: write it as 2026-11-27.")
    for name in TICKS:
        answer = fold(sent.cells.pop(name, "no"))
        if answer == "yes":
            sent.cells[name] = "on"
        elif answer != "no":
            sent.problems.append(f"{FACTS[name]}: write yes or no.")
    for name, choices in CHOICES.items():
        if typed := sent.cells.get(name):
            values = {fold(str(label)): value for value, label in choices.choices}
            sent.cells[name] = values.get(fold(typed), typed)
    if sent.cells.get("consent_on"):
        sent.cells["agreed"] = "on"
    sent.cells["form_key"] = str(uuid4())
    return sent


@dataclass(frozen=True)
class SheetMatch:
    """A row that can be taken: its form, whether the sheet is here already, and what looks odd."""

    line: int
    form: SheetForm
    here: bool
    doubts: list[Doubt]

    @property
    def day(self) -> date:
        return self.form.taking().day

    @property
    def count(self) -> int:
        return len(self.form.lengths())


def match(rows: Iterable[Row], *, client: Client, studio: Profile) -> list[SheetMatch]:
    """Rows without a problem against the sheets that are here. A constant number of queries."""
    here = {_values(taking_of(sheet)) for sheet in sheets_of(client)}
    ranges, unit, measures = own_ranges(), unit_of(studio), all_measures()
    matches = []
    for row in rows:
        form = SheetForm(row.cells, studio=studio, measures=measures)
        if not form.is_valid():
            continue
        taking = form.taking()
        facts, values = form.cleaned_data, _values(taking)
        grows = {"child": facts["minor"], "born": facts["born"], "pregnant": facts["pregnant"]}
        odd = doubts(taking, unit=unit, ranges=ranges, **grows)
        matches.append(SheetMatch(row.line, form, values in here, odd))
        here.add(values)
    return matches


def _values(taking: Taking) -> tuple[date, frozenset[tuple[Spot, Decimal]]]:
    """What makes two sheets the same."""
    return taking.day, frozenset(taking.values.items())
