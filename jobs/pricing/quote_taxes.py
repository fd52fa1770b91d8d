"""Tax on priced lines: rounded once for each rate of the document, then shared to the lines."""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from jobs.pricing.quote_shares import share_out
from jobs.pricing.quote_words import Item, Step, Tax, TaxMode, TaxSum
from studio.shop.money import exact, round_half_up


class Priced(NamedTuple):
    """An item with the steps of its price, before tax."""

    item: Item
    steps: tuple[Step, ...]

    @property
    def price(self) -> int:
        return sum(step.amount for step in self.steps)

    @property
    def order(self) -> tuple[str, str, str]:
        """Decides between equal claims to a left-over unit: name, tax, then key."""
        tax = self.item.tax
        return self.item.name, tax.name if tax else "", self.item.key


def tax_order(tax: Tax) -> tuple[bool, Fraction, str, str]:
    """Rates from high to low, then the exempt; equal ones by name."""
    return tax.exempt, -exact(tax.percent), tax.name, tax.sentence


def largest_share(lines: Sequence[Priced]) -> Tax | None:
    """The tax whose lines cost most; equal ones by name. None when no line has a tax."""
    prices: dict[Tax, int] = {}
    for line in lines:
        if line.item.tax:
            prices[line.item.tax] = prices.get(line.item.tax, 0) + line.price
    return min(prices, key=lambda tax: (-prices[tax], tax.name, tax_order(tax)), default=None)


def tax_within(price: int, tax: Tax, mode: TaxMode) -> int:
    """The tax on, or inside, the sum of one rate's prices, rounded half up once."""
    percent = Fraction(0) if tax.exempt else exact(tax.percent)
    if mode == TaxMode.ADDED:
        return round_half_up(price * percent / 100)
    return round_half_up(price * percent / (100 + percent))


def tax_by_rate(lines: Sequence[Priced], mode: TaxMode) -> tuple[tuple[TaxSum, ...], list[int]]:
    """One sum for each rate in use, and each line's part of its rate's tax, in the lines' order.

    Without tax there are no sums and every part is 0.
    """
    parts = [0] * len(lines)
    if mode == TaxMode.NONE:
        return (), parts
    groups: dict[Tax, list[int]] = {}
    for index, line in enumerate(lines):
        if line.item.tax:
            groups.setdefault(line.item.tax, []).append(index)
    rates = []
    for tax in sorted(groups, key=tax_order):
        members = groups[tax]
        prices = [lines[i].price for i in members]
        amount = tax_within(sum(prices), tax, mode)
        shared = share_out(amount, prices, [lines[i].order for i in members])
        for i, part in zip(members, shared, strict=True):
            parts[i] = part
        net = sum(prices) - (amount if mode == TaxMode.INCLUDED else 0)
        rates.append(TaxSum(tax, net, amount, net + amount))
    return tuple(rates), parts
