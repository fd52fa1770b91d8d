"""The published chart of equivalent amounts of cloth at other widths (``data/fabric_chart.csv``).

Amounts are yards in eighths, widths whole inches, as the chart prints them.
"""

from fractions import Fraction
from functools import cache

from clients.fit.lengths import read_number
from clients.fit.published import table


@cache
def columns() -> dict[range, tuple[Fraction, ...]]:
    """The amounts of each column, smallest first, by the whole inches of width it stands for."""
    rows = table("fabric_chart")
    return {_widths(head): tuple(read_number(row[head], 8) for row in rows) for head in rows[0]}


def _widths(head: str) -> range:
    least, _, most = head.partition("-")
    return range(int(least), int(most or least) + 1)


def column(width: int) -> tuple[Fraction, ...] | None:
    """The column of a width in inches; None for a width that the chart does not print."""
    return next((amounts for widths, amounts in columns().items() if width in widths), None)


def equivalent(amount: Fraction, width: int, other: int) -> Fraction | None:
    """``amount`` yards at ``width`` inches, at the ``other`` width; None outside the chart.

    Between two rows the larger one is taken (common practice). Below the first row and above the
    last nothing is published.
    """
    here, there = column(width), column(other)
    if here is None or there is None or amount < here[0]:
        return None
    return next((there[row] for row, size in enumerate(here) if size >= amount), None)
