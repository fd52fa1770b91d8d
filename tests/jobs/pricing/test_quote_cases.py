"""Two hundred and fifty worked cases, each told in one row of ``quote_cases.csv``.

Their numbers come from the second reckoning in ``reckoning.py``; a sample of every kind was checked
by hand. That they still follow from it is tested too, so that neither side can drift alone.
"""

import re
from itertools import combinations

from jobs.pricing.quote import Quote, quote
from tests.jobs.pricing.cases import EXEMPT, FILE, Case, read_cases
from tests.jobs.pricing.reckoning import reckon
from tests.rows import each_row

CASES = read_cases()
every_case = each_row("case", CASES)


def figures(result: Quote) -> dict:
    lines = (*result.lines, *result.adjustments)
    return {
        "prices": [line.price for line in lines],
        "taxes": [line.tax for line in lines],
        "net": result.net,
        "tax": result.tax,
        "gross": result.gross,
        "deposit": result.deposit,
        "minutes": result.minutes,
    }


def add_up(result: Quote) -> None:
    """What must hold in every quote, whatever the numbers."""
    lines = (*result.lines, *result.adjustments)
    for line in lines:
        assert sum(step.amount for step in line.steps) == line.price
        assert line.net + line.tax == line.gross
        assert min(line.price, line.net, line.tax, line.minutes) >= 0
        assert line.price == (line.gross if result.terms.tax_mode == "included" else line.net)
    sums = [(result.net, result.tax, result.gross)]
    sums += [tuple(sum(getattr(line, part) for line in lines) for part in ("net", "tax", "gross"))]
    if result.terms.tax_mode != "none":
        parts = ("net", "tax_amount", "gross")
        sums += [tuple(sum(getattr(rate, part) for rate in result.rates) for part in parts)]
    for first, other in combinations(sums, 2):
        assert first == other
    assert result.net + result.tax == result.gross == result.deposit + result.balance
    assert result.minutes == sum(line.minutes for line in lines)


def test_there_are_at_least_two_hundred_different_cases():
    assert len({(case.name, *map(repr, case[1:3])) for case in CASES}) == len(CASES) >= 200


@every_case
def test_the_quote_comes_to_the_worked_figures(case: Case):
    result = quote(case.items, case.terms)
    assert figures(result) == case.expected
    add_up(result)


@every_case
def test_the_worked_figures_follow_from_the_second_reckoning(case: Case):
    assert reckon(case.items, case.terms) == case.expected


@every_case
def test_the_order_of_the_lines_changes_nothing_else(case: Case):
    straight, reverse = quote(case.items, case.terms), quote(case.items[::-1], case.terms)
    assert reverse.lines == straight.lines[::-1]
    assert reverse.adjustments == straight.adjustments
    assert figures(reverse) | {"prices": 0, "taxes": 0} == figures(straight) | {
        "prices": 0, "taxes": 0,
    }  # fmt: skip
    assert reverse.rates == straight.rates


@each_row(
    "feature",
    [
        ",none,", ",added,", ",included,", "@exempt", "@new:", "less ", "off ", ",JPY,", ",KWD,",
        ",TND,", "minimum ", "step 0.05", "step 0.50", "rush ", "deposit 50%", "min ", " x3",
    ],
)  # fmt: skip
def test_the_cases_span_the_trade(feature: str):
    assert len(re.findall(re.escape(feature), FILE.read_text(encoding="utf-8"))) >= 3


@every_case
def test_the_rates_tell_the_exempt_apart(case: Case):
    result = quote(case.items, case.terms)
    taxed = {item.tax for item in case.items} if case.terms.tax_mode != "none" else set()
    assert {rate.tax for rate in result.rates} == taxed
    assert [rate.tax_amount for rate in result.rates if rate.tax == EXEMPT] in ([], [0])
    percents = [rate.tax.percent for rate in result.rates if not rate.tax.exempt]
    assert percents == sorted(percents, reverse=True)
    assert EXEMPT not in [rate.tax for rate in result.rates[:-1]]
