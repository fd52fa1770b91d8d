"""Copies sold, out of a CSV file with the columns day, copies and net amount.

A row is known by its day, copies, amount and by how many rows like it stand above it in the file.
So a file that comes again, or a longer one with the same rows, counts each row once, while two
sales that look alike on one day stay two.
"""

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date

from jobs.makes.models import Release
from studio.shop import clock
from studio.shop.files import Row, UnreadableFileError
from studio.shop.forms import MOST_MONEY
from studio.shop.models import Profile
from studio.shop.money import MoneyError, parse_money

COLUMNS = ("day", "copies", "net amount")
MOST_DIGITS = 6  # of the copies in one row


@dataclass(frozen=True)
class Sold:
    """Copies of a day and their net in minor units; both are negative where money went back."""

    day: date
    copies: int
    net: int
    key: str = ""


@dataclass
class SalesPlan:
    """``problems`` are pairs of a line and a sentence; with one of them nothing is brought in."""

    new: list[Sold] = field(default_factory=list)
    known: int = 0
    problems: list[tuple[int, str]] = field(default_factory=list)

    @property
    def copies(self) -> int:
        return sum(sold.copies for sold in self.new)

    @property
    def net(self) -> int:
        return sum(sold.net for sold in self.new)


def plan_sales(rows: list[Row], release: Release, studio: Profile) -> SalesPlan:
    """What the file would add. One query. Raises UnreadableFileError without the three columns."""
    headings: Collection[str] = rows[0].cells.keys() if rows else ()
    if missing := [name for name in COLUMNS if name not in headings]:
        raise UnreadableFileError(
            f"The first line names the columns {', '.join(COLUMNS)}. Missing: {', '.join(missing)}."
        )
    known = set(release.sales.values_list("row_key", flat=True))
    plan, alike = SalesPlan(), Counter[str]()
    for row in rows:
        facts = _Reader(row, studio)
        if facts.problems:
            plan.problems += [(row.line, problem) for problem in facts.problems]
            continue
        shown = f"{facts.day} {facts.copies} {facts.net}"
        alike[shown] += 1
        key = f"{shown} {alike[shown]}"
        if key in known:
            plan.known += 1
        else:
            plan.new.append(Sold(facts.day, facts.copies, facts.net, key))
    return plan


class _Reader:
    """The three facts of a row, and a sentence for each cell that was not understood."""

    def __init__(self, row: Row, studio: Profile) -> None:
        self.studio = studio
        self.problems: list[str] = []
        self.day, self.copies, self.net = date.min, 0, 0
        for name, read in zip(COLUMNS, (self._day, self._copies, self._net), strict=True):
            try:
                read(row.cells[name].strip())
            except ValueError as wrong:
                self.problems.append(f"{name}: {wrong}")

    def _day(self, cell: str) -> None:
        try:
            self.day = date.fromisoformat(cell)
        except ValueError:
            raise ValueError(f"write the day as 2026-03-31, not “{cell}”.") from None
        if self.day > clock.today():
            raise ValueError("this day is still to come.")

    def _copies(self, cell: str) -> None:
        digits = cell.removeprefix("-")
        if not (digits.isascii() and digits.isdigit() and len(digits) <= MOST_DIGITS):
            raise ValueError(f"write a whole number, not “{cell}”.")
        self.copies = int(cell)

    def _net(self, cell: str) -> None:
        try:
            self.net = parse_money(
                cell, self.studio.currency, self.studio.locale, allow_negative=True
            )
        except MoneyError as wrong:
            raise ValueError(str(wrong)) from wrong
        if abs(self.net) > MOST_MONEY:
            raise ValueError("that is more money than copies can bring.")
