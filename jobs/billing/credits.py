"""Credit for single lines of an invoice: what is left of each, and the sums of a credit note.

Amounts are whole minor units in the language of the price list, as ``price`` of a line is: with tax
where the list has it inside, without where it is added.

The tax of a credit note is what the one rule (``tax_within``: rounded half up, once for each rate)
gives for all that was credited of a rate so far, less what was credited of it before; it is shared
to the lines by largest remainder. So the first credit note has the tax of its own sum, and however
an invoice is credited, line after line or cent after cent, the notes come to its tax and its total
exactly.

A reduction of the price after the supply reduces the taxable amount (Directive 2006/112/EC,
Article 90); the note that says so names the invoice it amends (Article 219).
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from jobs.billing.points import shown_tax
from jobs.pricing.quote import TaxMode, share_out, tax_within
from jobs.tickets.quoting import thaw_tax

Facts = dict[str, Any]


class CreditError(ValueError):
    """These lines cannot be credited so; ``line`` is the place of the one that is in the way."""

    def __init__(self, message: str, line: int | None = None) -> None:
        super().__init__(message)
        self.line = line


@dataclass(frozen=True)
class LineLeft:
    """A line or adjustment of an invoice by its ``place``: what was charged, what is left of it."""

    place: int
    facts: Facts
    left: int

    @property
    def price(self) -> int:
        amount: int = self.facts["price"]
        return amount

    @property
    def tax(self) -> Facts | None:
        """The tax of the line as papers tell it."""
        rate = self.facts["tax_facts"]
        return rate and shown_tax(rate)

    @property
    def credited(self) -> int:
        return self.price - self.left


def charged_lines(data: Facts) -> list[Facts]:
    """The lines of an invoice, then what the rules added; their places are what a credit names."""
    return [*data["lines"], *data["adjustments"]]


def lines_left(invoice: Facts, notes: Iterable[Facts]) -> list[LineLeft]:
    """``notes`` are the copies of the credit notes on lines of ``invoice``."""
    gone = _credited_prices(notes)
    return [
        LineLeft(place, line, line["price"] - gone[place])
        for place, line in enumerate(charged_lines(invoice))
    ]


def credit_charges(
    invoice: Facts, notes: Sequence[Facts], amounts: Mapping[int, int]
) -> dict[str, Any]:
    """The lines, rates and sums of a credit note, all below zero, as ``charges`` of an invoice.

    ``amounts`` are what is credited of the lines at these places, above zero. Raises CreditError
    where more is credited than is left of a line. O(n log n) for n lines.
    """
    left = {line.place: line for line in lines_left(invoice, notes)}
    for place, amount in amounts.items():
        if place not in left:
            raise CreditError("That line is not on this invoice.")
        name = left[place].facts["name"]
        if amount <= 0:
            raise CreditError(f"{name}: write an amount above zero.", place)
        if amount > left[place].left:
            raise CreditError(f"{name}: that is more than is left of it.", place)
    taxes = _taxes(invoice, notes, amounts)
    added = _mode(invoice) == TaxMode.ADDED
    lines: list[Facts] = []
    adjustments: list[Facts] = []
    for place in sorted(amounts):
        price, tax = amounts[place], taxes.get(place, 0)
        net = price if added else price - tax
        line = _credited_line(left[place], price, {"net": net, "tax": tax, "gross": net + tax})
        (lines if place < len(invoice["lines"]) else adjustments).append(line)
    rows = [*lines, *adjustments]
    return {
        "lines": lines,
        "adjustments": adjustments,
        "rates": _rates(invoice, rows),
        **{key: sum(row[key] for row in rows) for key in ("net", "tax", "gross")},
    }


def _credited_line(line: LineLeft, price: int, amounts: dict[str, int]) -> Facts:
    """A whole line keeps its pieces and the steps of its price; a part is one piece of its own."""
    facts, whole = line.facts, price == line.price
    steps = [{"name": facts["name"], "amount": price, "percent": None}]
    return {
        **facts,
        "of": line.place,
        "quantity": facts["quantity"] if whole else 1,
        "steps": [
            {**step, "amount": -step["amount"]} for step in (facts["steps"] if whole else steps)
        ],
        "price": -price,
        **{key: -amount for key, amount in amounts.items()},
    }


def _mode(invoice: Facts) -> TaxMode:
    return TaxMode(invoice["studio"]["tax_mode"])


def _taxes(invoice: Facts, notes: Iterable[Facts], amounts: Mapping[int, int]) -> dict[int, int]:
    """The tax of what is credited of each line, above zero."""
    charged, gone = charged_lines(invoice), _credited_prices(notes)
    taxes: dict[int, int] = {}
    for facts in invoice["rates"]:
        rate = thaw_tax(facts)
        members = [n for n, line in enumerate(charged) if thaw_tax(line["tax_facts"]) == rate]
        credited = [place for place in members if place in amounts]
        if not rate or not credited:
            continue
        prices = [amounts[place] for place in credited]
        before = sum(gone[place] for place in members)
        after = before + sum(prices)
        # Of the whole it is the tax as it was invoiced, whatever rule held then.
        is_all = after == sum(charged[place]["price"] for place in members)
        until = facts["tax"] if is_all else tax_within(after, rate, _mode(invoice))
        amount = until - tax_within(before, rate, _mode(invoice))
        order = [(charged[place]["name"], f"{place:06d}") for place in credited]
        taxes |= dict(zip(credited, share_out(amount, prices, order), strict=True))
    return taxes


def _credited_prices(notes: Iterable[Facts]) -> dict[int, int]:
    """What was credited of each line so far, above zero, by its place."""
    gone: dict[int, int] = defaultdict(int)
    for note in notes:
        for line in charged_lines(note):
            gone[line["of"]] -= line["price"]
    return gone


def _rates(invoice: Facts, rows: list[Facts]) -> list[Facts]:
    """The sums of each rate that the rows have, in the order of the invoice."""
    rates = []
    for rate in invoice["rates"]:
        mine = [row for row in rows if thaw_tax(row["tax_facts"]) == thaw_tax(rate)]
        if mine:
            sums = {key: sum(row[key] for row in mine) for key in ("net", "tax", "gross")}
            rates.append({**rate, **sums})
    return rates
