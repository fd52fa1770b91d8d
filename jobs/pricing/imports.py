"""What a CSV file would do to the price list, worked out before anything is changed."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

from jobs.pricing.csv_rows import (
    Column,
    RowError,
    operation_columns,
    read_cells,
    surcharge_columns,
)
from jobs.pricing.models import Operation, Surcharge
from studio.shop.files import Row, UnreadableFileError
from studio.shop.models import Profile

Facts = dict[str, Any]


@dataclass(frozen=True)
class Change:
    """One row that was understood. ``columns`` names the headings whose cells differ."""

    line: int
    name: str
    facts: Facts
    entry: Operation | Surcharge | None
    columns: list[str]


@dataclass
class Plan:
    """``problems`` are pairs of a line and a sentence; with one of them nothing is brought in."""

    table: type[Operation] | type[Surcharge]
    changes: list[Change] = field(default_factory=list)
    problems: list[tuple[int, str]] = field(default_factory=list)

    @property
    def new(self) -> list[Change]:
        return [change for change in self.changes if change.entry is None]

    @property
    def changed(self) -> list[Change]:
        return [change for change in self.changes if change.entry and change.columns]

    @property
    def unchanged(self) -> int:
        return len(self.changes) - len(self.new) - len(self.changed)


@dataclass(frozen=True)
class Table:
    """One of the two files: its columns, the headings a new entry needs, and what is listed."""

    entry: type[Operation] | type[Surcharge]
    columns: Mapping[str, Column]
    needed: list[str]
    known: Mapping[str, Operation | Surcharge]
    key: Callable[[Facts], str]


def plan_import(rows: list[Row], studio: Profile) -> Plan:
    """Compare the file with the list. What the file does not name stays.

    Raises UnreadableFileError when the headings tell neither operations nor surcharges.
    """
    table = _table_of(rows[0].cells.keys() if rows else set(), studio)
    plan = Plan(table.entry)
    lines: dict[str, int] = {}
    for row in rows:
        try:
            facts = read_cells(row.cells, table.columns)
        except RowError as error:
            plan.problems += [(row.line, problem) for problem in error.problems]
            continue
        key = table.key(facts)
        entry = table.known.get(key)
        missing = [name for name in table.needed if name not in row.cells]
        if key in lines:
            plan.problems.append((row.line, f"“{key}” stands on line {lines[key]} already."))
        elif entry is None and missing:
            plan.problems += [(row.line, f"{name}: is missing.") for name in missing]
        else:
            differing = _differing(facts, entry, table.columns) if entry else []
            plan.changes.append(Change(row.line, key, facts, entry, differing))
        lines.setdefault(key, row.line)
    return plan


def _table_of(headings: Collection[str], studio: Profile) -> Table:
    if {"garment", "operation"} <= set(headings):
        listed = Operation.objects.select_related("garment_kind")
        return Table(
            Operation,
            operation_columns(studio),
            ["price"],
            {str(entry): entry for entry in listed},
            lambda facts: f"{facts['kind']}: {facts['name']}",
        )
    if "surcharge" in headings:
        known = {entry.name: entry for entry in Surcharge.objects.all()}
        columns = surcharge_columns(studio)
        return Table(Surcharge, columns, [], known, lambda facts: facts["name"])
    raise UnreadableFileError(
        "The first line names the columns: garment, operation, price … or surcharge, price % …"
    )


def _differing(
    facts: Facts, entry: Operation | Surcharge, columns: Mapping[str, Column]
) -> list[str]:
    return [
        heading
        for heading, column in columns.items()
        if column.field not in {"kind", "name"}
        and column.field in facts
        and getattr(entry, column.field) != facts[column.field]
    ]
