"""Rows of the price list's two CSV files: operations, and surcharges.

A row comes in as ``{heading: cell}`` and goes out as facts for the models, or as sentences that say
what is wrong with it. Words are the ones the pages show; yes and no for what is or is not.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from django.db.models import Choices

from jobs.pricing.models import Basis, Measure, Operation, Surcharge, WorkOrder
from studio.shop.forms import MOST_MONEY
from studio.shop.models import Profile
from studio.shop.money import MoneyError, format_plain, parse_money
from studio.shop.taxes import plain_percent

OPERATION_HEADINGS = [
    "garment", "operation", "price", "minutes", "fitting first", "order of work", "stitch",
    "asks how far", "usual basis", "usual measure",
]  # fmt: skip
SURCHARGE_HEADINGS = ["surcharge", "price %", "fixed price", "minutes %", "fixed minutes"]
MOST_MINUTES = 6000


class RowError(ValueError):
    """What is wrong with one row: one sentence for each cell that was not understood."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = problems
        super().__init__(" ".join(problems))


@dataclass(frozen=True)
class Column:
    """Which field a cell fills, how it is read, and what an empty one means (None: not allowed)."""

    field: str
    parse: Callable[[str], Any]
    empty: Any = None


def read_cells(row: Mapping[str, str], columns: Mapping[str, Column]) -> dict[str, Any]:
    """The facts that the row states. A column the file lacks states nothing. Raises RowError."""
    facts, problems = {}, []
    for heading, column in columns.items():
        if heading not in row:
            continue
        cell = " ".join(row[heading].split())
        try:
            facts[column.field] = column.parse(cell) if cell else column.empty
        except ValueError as error:
            problems.append(f"{heading}: {error}")
        else:
            if facts[column.field] is None:
                problems.append(f"{heading}: is missing.")
    if problems:
        raise RowError(problems)
    return facts


def at_most(letters: int) -> Callable[[str], str]:
    def parse(cell: str) -> str:
        if len(cell) > letters:
            raise ValueError(f"at most {letters} letters.")
        return cell

    return parse


def whole_number(cell: str) -> int:
    if not (cell.isascii() and cell.isdigit() and len(cell) < 6 and int(cell) <= MOST_MINUTES):
        raise ValueError(f"write a whole number up to {MOST_MINUTES}, not “{cell}”.")
    return int(cell)


def yes_or_no(cell: str) -> bool:
    if cell.casefold() not in {"yes", "no"}:
        raise ValueError(f"write yes or no, not “{cell}”.")
    return cell.casefold() == "yes"


def one_of(choices: type[Choices]) -> Callable[[str], Any]:
    """Reads a label of ``choices`` in any case."""
    labels = {str(label).casefold(): value for value, label in choices.choices}

    def parse(cell: str) -> Any:
        if cell.casefold() not in labels:
            known = ", ".join(str(label) for label in choices.labels)
            raise ValueError(f"write one of {known}, not “{cell}”.")
        return labels[cell.casefold()]

    return parse


def percentage(cell: str) -> Decimal:
    try:
        found = Decimal(cell.removesuffix("%").strip().replace(",", "."))
    except InvalidOperation:
        raise ValueError(f"write a percentage, not “{cell}”.") from None
    if not (found.is_finite() and 0 <= found < 1000) or found != round(found, 3):
        raise ValueError(f"write 0 to 999.999, not “{cell}”.")
    return found


def stitch_number(cell: str) -> str:
    if not (cell.isascii() and cell.isdigit() and 100 <= int(cell) <= 699 and len(cell) == 3):
        raise ValueError(f"an ISO 4915 stitch is 101 to 699, not “{cell}”.")
    return cell


def money_in(studio: Profile) -> Callable[[str], int]:
    def parse(cell: str) -> int:
        try:
            minor = parse_money(cell, studio.currency, studio.locale)
        except MoneyError as error:
            raise ValueError(f"{error}") from error
        if minor > MOST_MONEY:
            raise ValueError("that is more money than a price can be.")
        return minor

    return parse


OPERATION_COLUMNS = {
    "garment": Column("kind", at_most(60)),
    "operation": Column("name", at_most(80)),
    "minutes": Column("minutes", whole_number, 0),
    "fitting first": Column("fitting_first", yes_or_no, empty=False),
    "order of work": Column("work_order", one_of(WorkOrder), WorkOrder.BODY.value),
    "stitch": Column("stitch", stitch_number, ""),
    "asks how far": Column("takes_amount", yes_or_no, empty=False),
    "usual basis": Column("usual_basis", one_of(Basis), ""),
    "usual measure": Column("usual_measure", one_of(Measure), ""),
}
SURCHARGE_COLUMNS = {
    "surcharge": Column("name", at_most(60)),
    "price %": Column("percent", percentage, Decimal(0)),
    "minutes %": Column("minutes_percent", percentage, Decimal(0)),
    "fixed minutes": Column("minutes", whole_number, 0),
}


def operation_columns(studio: Profile) -> dict[str, Column]:
    return OPERATION_COLUMNS | {"price": Column("price", money_in(studio))}


def surcharge_columns(studio: Profile) -> dict[str, Column]:
    return SURCHARGE_COLUMNS | {"fixed price": Column("amount", money_in(studio), 0)}


def operation_cells(operation: Operation, currency: str) -> list[str]:
    """An operation as a row under ``OPERATION_HEADINGS``."""
    return [
        operation.garment_kind.name,
        operation.name,
        format_plain(operation.price, currency),
        str(operation.minutes),
        "yes" if operation.fitting_first else "no",
        operation.get_work_order_display(),
        operation.stitch,
        "yes" if operation.takes_amount else "no",
        operation.get_usual_basis_display() if operation.usual_basis else "",
        operation.get_usual_measure_display() if operation.usual_measure else "",
    ]


def surcharge_cells(surcharge: Surcharge, currency: str) -> list[str]:
    """A surcharge as a row under ``SURCHARGE_HEADINGS``."""
    return [
        surcharge.name,
        plain_percent(surcharge.percent),
        format_plain(surcharge.amount, currency),
        plain_percent(surcharge.minutes_percent),
        str(surcharge.minutes),
    ]
