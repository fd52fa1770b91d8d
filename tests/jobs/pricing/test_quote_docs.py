"""The tables of ``docs/money.md`` are what the program does."""

import re
from decimal import Decimal
from pathlib import Path

import pytest

from jobs.pricing.quote import Item, ItemSurcharge, TaxMode, Terms, quote, show_percent
from tests.jobs.pricing.cases import minor, read_items, read_terms
from tests.jobs.pricing.test_quote_cases import CASES, figures

PAGE = (Path(__file__).parents[3] / "docs" / "money.md").read_text(encoding="utf-8")


def rows(heading: str) -> list[list[str]]:
    """The cells of every table whose first column has this heading."""
    rows, inside = [], False
    for line in PAGE.splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if not line.startswith("|"):
            inside = False
        elif cells[0] == heading:
            inside = True
        elif inside and not cells[0].startswith("-"):
            rows.append(cells)
    return rows


QUOTES = rows("currency")


def test_the_page_has_its_tables():
    assert len(QUOTES) == 19
    assert f"{len(CASES)} worked cases" in PAGE


@pytest.mark.parametrize("row", QUOTES, ids=lambda row: f"{row[3]} {row[2]}")
def test_a_row_of_the_page_is_what_the_quote_comes_to(row: list[str]):
    currency, mode, terms, lines, prices, taxes, *totals = row
    sums = figures(quote(read_items(lines), read_terms(currency, mode, terms)))
    assert sums["prices"] == [minor(amount) for amount in prices.split()]
    assert sums["taxes"] == [minor(amount) for amount in taxes.split()]
    assert [sums["net"], sums["tax"], sums["gross"]] == [minor(amount) for amount in totals]


def test_the_steps_of_the_page_are_the_steps_of_a_line():
    item = Item("1", "hem", 2410, surcharges=(
        ItemSurcharge("lined", Decimal(25)), ItemSurcharge("leather", amount=300),
    ))  # fmt: skip
    terms = Terms("EUR", TaxMode.NONE, rounding_step=50,
                  rush_percent=Decimal(20), discount_percent=Decimal(10))  # fmt: skip
    steps = quote([item], terms).lines[0].steps
    assert [
        (step.name, "" if step.percent is None else show_percent(step.percent), step.amount)
        for step in steps
    ] == [(name, percent, minor(amount)) for name, percent, amount, _ in rows("step")]


def test_the_page_gives_the_minutes_of_two_hems():
    assert re.search(r"Two hems of 25 minutes with\s+a surcharge of 10 % take 55 minutes", PAGE)
    items = read_items("hem 24.00 x2 25min lined+10%min")
    assert quote(items, Terms("EUR", TaxMode.NONE)).minutes == 55
