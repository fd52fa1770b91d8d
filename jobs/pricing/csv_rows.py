"""Rows of the price list's two CSV files: operations, and surcharges.

A row comes in as ``{heading: cell}`` and goes out as facts for the models, or as sentences that say
what is wrong with it. Words are the ones the pages show; yes and no for what is or is not.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from django.db.models import Choices

from jobs.pricing.models import Basis, Measure, Operation, Surcharge, WorkOrder
from studio.shop.models import Profile
from studio.shop.money import MoneyError, format_plain, parse_money
from studio.shop.taxes import plain_percent

OPERATION_HEADINGS = [
    "garment", "operation", "price", "minutes", "fitting first", "order of work", "stitch",
    "asks how far", "usual basis", "usual measure",
]  # fmt: skip
SURCHARGE_HEADINGS = ["surcharge", "price %", "fixed price", "minutes %", "fixed minutes"]
MOST_MINUTES = 6000
MOST_MONEY = 10**12


class RowError(ValueError):
    """What is wrong with one row: one sentence for each cell that was not understood."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = problems
        super().__init__(" ".join(problems))


class Cells:
    """Reads one row cell by cell and gathers what it could not understand."""

    def __init__(self, row: Mapping[str, str]) -> None:
        self.row = row
        self.problems: list[str] = []

    def read(self, heading: str, parse: Callable[[str], Any], empty: Any) -> Any:
        cell = self.row.get(heading, "").strip()
        if not cell:
            return empty
        try:
            return parse(cell)
        except ValueError as error:
            self.problems.append(f"{heading}: {error}")
            return empty

    def name(self, heading: str, most: int) -> str:
        found = " ".join(self.row.get(heading, "").split())
        if not found:
            self.problems.append(f"{heading}: is missing.")
        elif len(found) > most:
            self.problems.append(f"{heading}: at most {most} letters.")
        return found

    def finish(self) -> None:
        if self.problems:
            raise RowError(self.problems)


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


def read_operation(row: Mapping[str, str], price: Callable[[Cells, int], int]) -> dict[str, Any]:
    """The facts of an operation, its garment under ``kind``. Raises RowError.

    ``price`` says the price in minor units from the cells and the minutes.
    """
    cells = Cells(row)
    facts = {
        "kind": cells.name("garment", 60),
        "name": cells.name("operation", 80),
        "minutes": cells.read("minutes", whole_number, 0),
        "fitting_first": cells.read("fitting first", yes_or_no, empty=False),
        "work_order": cells.read("order of work", one_of(WorkOrder), WorkOrder.BODY.value),
        "stitch": cells.read("stitch", stitch_number, ""),
        "takes_amount": cells.read("asks how far", yes_or_no, empty=False),
        "usual_basis": cells.read("usual basis", one_of(Basis), ""),
        "usual_measure": cells.read("usual measure", one_of(Measure), ""),
    }
    facts["price"] = price(cells, facts["minutes"])
    cells.finish()
    return facts


def read_surcharge(row: Mapping[str, str], money: Callable[[str], int]) -> dict[str, Any]:
    """The facts of a surcharge. Raises RowError."""
    cells = Cells(row)
    facts = {
        "name": cells.name("surcharge", 60),
        "percent": cells.read("price %", percentage, Decimal(0)),
        "amount": cells.read("fixed price", money, 0),
        "minutes_percent": cells.read("minutes %", percentage, Decimal(0)),
        "minutes": cells.read("fixed minutes", whole_number, 0),
    }
    cells.finish()
    return facts


def written_price(studio: Profile) -> Callable[[Cells, int], int]:
    """The price as the row states it; a row without one is refused."""
    money = money_in(studio)

    def price(cells: Cells, minutes: int) -> int:
        if not cells.row.get("price", "").strip():
            cells.problems.append("price: is missing.")
        return cells.read("price", money, 0)

    return price


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
