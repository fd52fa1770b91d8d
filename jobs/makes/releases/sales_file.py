"""Copies sold, out of a CSV file with the columns day, copies and without tax.

A row is known by its day, copies, amount and by how many rows like it stand above it in the file.
So a file that comes again, or a longer one with the same rows, counts each row once, while two
sales that look alike on one day stay two.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from jobs.makes.models import Release
from studio.shop import clock
from studio.shop.files import Row, UnreadableFileError, parse_csv
from studio.shop.forms import MoneyField
from studio.shop.imports import CellField, Reading, RowForm, check
from studio.shop.models import Profile

COLUMNS = ("day", "copies", "without tax")
# Headings that files of earlier versions have.
EARLIER = {"net amount": "without tax"}
MOST_DIGITS = 6  # of the copies in one row


def past_day(cell: str) -> date:
    try:
        day = date.fromisoformat(cell)
    except ValueError:
        raise ValueError(f"write the day as 2026-03-31, not “{cell}”.") from None
    if day > clock.today():
        raise ValueError("this day is still to come.")
    return day


def signed_number(cell: str) -> int:
    digits = cell.removeprefix("-")
    if not (digits.isascii() and digits.isdigit() and len(digits) <= MOST_DIGITS):
        raise ValueError(f"write a whole number, not “{cell}”.")
    return int(cell)


class SaleRow(RowForm):
    day = CellField(
        "day",
        past_day,
        error_messages={"required": "write the day as 2026-03-31, not “”."},
    )
    copies = CellField(
        "copies", signed_number, error_messages={"required": "write a whole number, not “”."}
    )
    net = MoneyField(
        label="without tax",
        negative=True,
        error_messages={
            "required": "is missing.",
            "huge": "that is more money than copies can bring.",
        },
    )


@dataclass(frozen=True)
class Sold:
    """Copies of a day and their net in minor units; both are negative where money went back."""

    day: date
    copies: int
    net: int
    key: str = ""


@dataclass
class SalesPlan:
    """What a file would add, and how many of its rows are here already."""

    new: list[Sold] = field(default_factory=list)
    known: int = 0

    @property
    def copies(self) -> int:
        return sum(sold.copies for sold in self.new)

    @property
    def net(self) -> int:
        return sum(sold.net for sold in self.new)


def read_sales(text: str, studio: Profile) -> Reading:
    """The rows of a file, each checked. Raises UnreadableFileError without the three columns."""
    rows = parse_csv(text)
    for row in rows:
        for earlier, now in EARLIER.items():
            if earlier in row.cells and now not in row.cells:
                row.cells[now] = row.cells.pop(earlier)
    headings = rows[0].cells.keys() if rows else ()
    if missing := [name for name in COLUMNS if name not in headings]:
        raise UnreadableFileError(
            f"The first line names the columns {', '.join(COLUMNS)}. Missing: {', '.join(missing)}."
        )
    for row in rows:
        check(row, SaleRow(row.cells, studio=studio))
    return Reading(rows)


def plan_sales(rows: Iterable[Row], release: Release, studio: Profile) -> SalesPlan:
    """What these rows, all of them understood, would add. One query."""
    known = set(release.sales.values_list("row_key", flat=True))
    plan, alike = SalesPlan(), Counter[str]()
    for row in rows:
        form = SaleRow(row.cells, studio=studio)
        form.full_clean()
        facts = form.cleaned_data
        shown = f"{facts['day']} {facts['copies']} {facts['net']}"
        alike[shown] += 1
        key = f"{shown} {alike[shown]}"
        if key in known:
            plan.known += 1
        else:
            plan.new.append(Sold(**facts, key=key))
    return plan
