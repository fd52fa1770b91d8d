"""The quote: what the work on a ticket costs, how long it takes and how much of it is tax.

The order of the sums, also in ``docs/money.md`` with worked tables:

1. base: unit price times quantity;
2. surcharges: each its percentage of the base, never of one another, plus its amount per piece;
3. rush: its percentage of base and surcharges;
4. discount: its percentage of base, surcharges and rush;
5. the line is rounded once, half up, to the rounding step. Steps 1 to 4 are carried exactly; each
   is shown to the nearest minor unit and what is left is shown as *rounding*;
6. minimum charge: when the lines come to less than it, one line lifts them to it exactly. It takes
   the tax of the lines that cost most. Work given away (all lines zero) is left alone;
7. an agreed discount in money is shared over all lines in proportion to their prices. It comes
   after the minimum charge: what the owner takes off by hand stays off;
8. tax is rounded once for each rate of the whole document and shared to the lines by largest
   remainder, so lines, rates and totals agree to the minor unit;
9. deposit: the agreed amount, else a percentage of the gross, and never more than the gross.

Minutes of a line: quantity times the minutes, plus each surcharge's percentage of them, plus its
minutes per piece; rounded up to a whole minute.

All money is int in minor units of ``Terms.currency``. Percentages are Decimal: ``Decimal("13.5")``
is 13.5 %. Minutes are int bench minutes.

The result does not depend on the order of the items, except that lines stay in it. No Django, no
float, no clock: O(n log n) for n lines.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from studio.shop.money import LONGEST, MoneyError, decimals, exact, round_half_up

MINIMUM_CHARGE = "minimum charge"  # the name and the key of the line that the rule adds
MOST = 10**LONGEST  # minor units or minutes; keeps every total within a database integer
MOST_PIECES = 10_000
MOST_PERCENT = 1000


class QuoteError(ValueError):
    """The work cannot be priced as asked. Its sentence can be shown at the counter."""


class TaxMode(StrEnum):
    """Whether the price list speaks of prices without tax, plus tax, or with tax inside."""

    NONE = "none"
    ADDED = "added"
    INCLUDED = "included"


@dataclass(frozen=True)
class Tax:
    """A rate as agreed. An exempt one takes no tax and prints ``sentence``."""

    name: str
    percent: Decimal
    exempt: bool = False
    sentence: str = ""


@dataclass(frozen=True)
class ItemSurcharge:
    """``percent`` is of the line's base price, ``amount`` is per piece; so too for the minutes."""

    name: str
    percent: Decimal = Decimal(0)
    amount: int = 0
    minutes_percent: Decimal = Decimal(0)
    minutes: int = 0


@dataclass(frozen=True)
class Item:
    """One operation on one garment. ``key`` is unique; price and minutes are per piece."""

    key: str
    name: str
    unit_price: int
    quantity: int = 1
    minutes: int = 0
    surcharges: tuple[ItemSurcharge, ...] = ()
    tax: Tax | None = None


@dataclass(frozen=True)
class Terms:
    """What holds for the whole ticket. ``deposit_amount`` None asks for ``deposit_percent``."""

    currency: str
    tax_mode: TaxMode
    rounding_step: int = 1
    minimum_charge: int = 0
    rush_percent: Decimal = Decimal(0)
    discount_percent: Decimal = Decimal(0)
    discount_amount: int = 0
    deposit_percent: Decimal = Decimal(0)
    deposit_amount: int | None = None


@dataclass(frozen=True)
class PriceStep:
    """One step towards a line's price. A discount's percentage and amount are negative."""

    name: str
    amount: int
    percent: Decimal | None = None


@dataclass(frozen=True)
class QuotedLine:
    """A priced line: ``price`` is the sum of its steps, and ``net + tax == gross``.

    ``price`` speaks the price list's language: it is the gross where tax is included and the net
    where it is added.
    """

    item: Item
    steps: tuple[PriceStep, ...]
    price: int
    net: int
    tax: int
    gross: int
    minutes: int


@dataclass(frozen=True)
class TaxSum:
    """What the lines of one rate come to; ``net + tax_amount == gross``."""

    tax: Tax
    net: int
    tax_amount: int
    gross: int


@dataclass(frozen=True)
class Quote:
    """The whole ticket. ``adjustments`` are lines the rules added, such as the minimum charge.

    Totals are the sums over ``lines`` and ``adjustments``, and over ``rates`` where there is tax.
    """

    terms: Terms
    lines: tuple[QuotedLine, ...]
    adjustments: tuple[QuotedLine, ...]
    rates: tuple[TaxSum, ...]
    net: int
    tax: int
    gross: int
    deposit: int
    balance: int
    minutes: int


def named_already(surcharge: str, operation: str) -> bool:
    """The operation's own name says what the surcharge is for: *lined* on *Hem, lined*."""
    things = re.split(r",| or ", surcharge.casefold())
    named = (rf"\b{re.escape(thing.strip())}\b" for thing in things if thing.strip())
    return any(re.search(thing, operation.casefold()) for thing in named)


class Priced(NamedTuple):
    """An item with the steps of its price, before tax."""

    item: Item
    steps: tuple[PriceStep, ...]

    @property
    def price(self) -> int:
        return sum(step.amount for step in self.steps)

    @property
    def order(self) -> tuple[str, str, str]:
        """Decides between equal claims to a left-over unit: name, tax, then key."""
        tax = self.item.tax
        return self.item.name, tax.name if tax else "", self.item.key


def quote(items: Sequence[Item], terms: Terms) -> Quote:
    """Price ``items`` under ``terms``. Raises QuoteError with a sentence for the counter."""
    check(items, terms)
    priced = [price_line(item, terms) for item in items]
    priced += lift_to_minimum(priced, terms)
    priced = take_off(priced, terms.discount_amount)
    rates, taxes = tax_by_rate(priced, terms.tax_mode)
    lines = [finish(line, tax, terms.tax_mode) for line, tax in zip(priced, taxes, strict=True)]
    gross = sum(line.gross for line in lines)
    deposit = ask_deposit(gross, terms)
    return Quote(
        terms=terms,
        lines=tuple(lines[: len(items)]),
        adjustments=tuple(lines[len(items) :]),
        rates=rates,
        net=sum(line.net for line in lines),
        tax=sum(line.tax for line in lines),
        gross=gross,
        deposit=deposit,
        balance=gross - deposit,
        minutes=sum(line.minutes for line in lines),
    )


def explain(
    line: QuotedLine,
    show: Callable[[int], str],
    *,
    name: Callable[[str], str] = str,
    percent: Callable[[Decimal], str] | None = None,
) -> str:
    """The steps of a line in words: ``hem 24.00, lined +25 % 6.00, rush +20 % 6.00``.

    ``show`` writes minor units, ``name`` the steps and ``percent`` their percentages in another
    language. More than one piece reads ``button 3 x 2.00 = 6.00``.
    """
    write = percent or show_percent
    first, *others = line.steps
    pieces, each = line.item.quantity, show(line.item.unit_price)
    counted = f"{pieces} \N{MULTIPLICATION SIGN} {each} = " if pieces > 1 else ""
    words = [f"{name(first.name)} {counted}{show(first.amount)}"]
    for step in others:
        share = "" if step.percent is None else f"{write(step.percent)} "
        words.append(f"{name(step.name)} {share}{show(step.amount)}")
    return ", ".join(words)


def show_percent(percent: Decimal) -> str:
    """With its sign and without idle zeros: ``+25 %``, ``-12.5 %``."""
    shown = f"{percent:+f}"
    return f"{shown.rstrip('0').rstrip('.') if '.' in shown else shown} %"


def price_line(item: Item, terms: Terms) -> Priced:
    """Base, surcharges, rush and percentage discount; rounded once to the rounding step."""
    base = item.unit_price * item.quantity
    steps = [PriceStep(item.name, base)]
    total = Fraction(base)

    def add(name: str, of: Fraction | int, percent: Decimal) -> None:
        nonlocal total
        if percent:
            amount = of * exact(percent) / 100
            steps.append(PriceStep(name, round_half_up(amount), percent))
            total += amount

    for surcharge in item.surcharges:
        add(surcharge.name, base, surcharge.percent)
        if surcharge.amount:
            steps.append(PriceStep(surcharge.name, surcharge.amount * item.quantity))
            total += surcharge.amount * item.quantity
    add("rush", total, terms.rush_percent)
    add("discount", total, -terms.discount_percent)
    price = round_half_up(total, terms.rounding_step)
    if rounding := price - sum(step.amount for step in steps):
        steps.append(PriceStep("rounding", rounding))
    return Priced(item, tuple(steps))


def lift_to_minimum(lines: Sequence[Priced], terms: Terms) -> list[Priced]:
    """The line that lifts the work to the minimum charge, when one is needed."""
    total = sum(line.price for line in lines)
    if not 0 < total < terms.minimum_charge:
        return []
    lift = terms.minimum_charge - total
    item = Item(MINIMUM_CHARGE, MINIMUM_CHARGE, lift, tax=largest_share(lines))
    return [Priced(item, (PriceStep(MINIMUM_CHARGE, lift),))]


def take_off(lines: list[Priced], amount: int) -> list[Priced]:
    """Share a discount in money over the lines, so that its parts add up."""
    prices = [line.price for line in lines]
    if amount > sum(prices):
        raise QuoteError("The discount is more than the work costs.")
    parts = share_out(amount, prices, [line.order for line in lines])
    return [
        line._replace(steps=(*line.steps, PriceStep("discount", -part))) if part else line
        for line, part in zip(lines, parts, strict=True)
    ]


def finish(line: Priced, tax: int, mode: TaxMode) -> QuotedLine:
    net = line.price - tax if mode == TaxMode.INCLUDED else line.price
    return QuotedLine(
        line.item, line.steps, line.price, net, tax, net + tax, line_minutes(line.item)
    )


def line_minutes(item: Item) -> int:
    """Bench minutes for all pieces of a line, rounded up."""
    if not item.surcharges:
        return item.quantity * item.minutes
    percent = sum(Fraction(surcharge.minutes_percent) for surcharge in item.surcharges)
    added = sum(surcharge.minutes for surcharge in item.surcharges)
    return (item.quantity * (item.minutes * (1 + percent / 100) + added)).__ceil__()


def ask_deposit(gross: int, terms: Terms) -> int:
    if terms.deposit_amount is not None:
        return min(terms.deposit_amount, gross)
    if not terms.deposit_percent:
        return 0
    return min(round_half_up(gross * exact(terms.deposit_percent) / 100), gross)


def tax_order(tax: Tax) -> tuple[bool, Decimal, str, str]:
    """Rates from high to low, then the exempt; equal ones by name."""
    return tax.exempt, -tax.percent, tax.name, tax.sentence


def largest_share(lines: Sequence[Priced]) -> Tax | None:
    """The tax whose lines cost most; equal ones by name. None when no line has a tax."""
    prices: dict[Tax, int] = {}
    for line in lines:
        if line.item.tax:
            prices[line.item.tax] = prices.get(line.item.tax, 0) + line.price
    return min(prices, key=lambda tax: (-prices[tax], tax.name, tax_order(tax)), default=None)


def tax_within(price: int, tax: Tax, mode: TaxMode) -> int:
    """The tax on, or inside, the sum of one rate's prices, rounded half up once."""
    percent = Fraction(0 if tax.exempt else tax.percent)
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


def share_out(total: int, weights: Sequence[int], order: Sequence[tuple[str, ...]]) -> list[int]:
    """``total`` minor units in proportion to ``weights``, by largest remainder.

    Everybody gets the whole units of their exact share; the units left over go one each to the
    largest fractions. Equal fractions go to the larger weight, then to the smaller ``order``, so
    the sequence of the parts does not matter. ``total`` and ``weights`` are 0 or more; all weights
    zero gives zeros. A part is never above its weight when the total is not above their sum.

    O(n log n). The method is Hamilton's of 1792 for seats in proportion to people.
    """
    weight_sum = sum(weights)
    if not weight_sum:
        return [0] * len(weights)
    shares = [Fraction(total * weight, weight_sum) for weight in weights]
    parts = [int(share) for share in shares]
    by_remainder = sorted(
        range(len(parts)), key=lambda i: (parts[i] - shares[i], -weights[i], order[i])
    )
    for i in by_remainder[: total - sum(parts)]:
        parts[i] += 1
    return parts


def check(items: Sequence[Item], terms: Terms) -> None:
    """Raise QuoteError for the first thing that is negative, absurd or not exact."""
    check_terms(terms)
    seen = {MINIMUM_CHARGE}
    for item in items:
        if item.key in seen:
            raise QuoteError(f"{item.name}: two lines share the key {item.key}.")
        seen.add(item.key)
        check_item(item)
        if terms.tax_mode != TaxMode.NONE:
            check_tax(item.name, item.tax)


def check_terms(terms: Terms) -> None:
    try:
        decimals(terms.currency)
    except MoneyError as error:
        raise QuoteError(str(error)) from error
    if terms.tax_mode not in list(TaxMode):
        raise QuoteError("Tax is none, added or included.")
    check_whole("The rounding step", terms.rounding_step, least=1)
    check_whole("The minimum charge", terms.minimum_charge)
    check_whole("The discount", terms.discount_amount)
    if terms.deposit_amount is not None:
        check_whole("The deposit", terms.deposit_amount)
    check_percent("The rush percentage", terms.rush_percent)
    check_percent("The discount", terms.discount_percent, most=100)
    check_percent("The deposit percentage", terms.deposit_percent)


def check_item(item: Item) -> None:
    check_whole(f"{item.name}: the price", item.unit_price)
    check_whole(f"{item.name}: the quantity", item.quantity, least=1, most=MOST_PIECES)
    check_whole(f"{item.name}: the minutes", item.minutes)
    for surcharge in item.surcharges:
        check_surcharge(f"{item.name}, {surcharge.name}", surcharge)


def check_surcharge(label: str, surcharge: ItemSurcharge) -> None:
    check_percent(f"{label}: the percentage", surcharge.percent)
    check_whole(f"{label}: the amount", surcharge.amount)
    check_percent(f"{label}: the percentage of the minutes", surcharge.minutes_percent)
    check_whole(f"{label}: the minutes", surcharge.minutes)


def check_tax(name: str, tax: Tax | None) -> None:
    if tax is None:
        raise QuoteError(f"{name}: say which tax applies.")
    check_percent(f"{name}: the tax {tax.name}", tax.percent, most=100)


def check_whole(label: str, value: object, *, least: int = 0, most: int = MOST) -> None:
    if isinstance(value, bool) or not isinstance(value, int):
        raise QuoteError(f"{label} must be a whole number, not {type(value).__name__}.")
    if value < least:
        raise QuoteError(f"{label} must be at least {least}.")
    if value > most:
        raise QuoteError(f"{label} must be at most {most}.")


def check_percent(label: str, value: object, *, most: int = MOST_PERCENT) -> None:
    if isinstance(value, bool) or not isinstance(value, Decimal | int):
        raise QuoteError(f"{label} must be an exact decimal, not {type(value).__name__}.")
    if not Decimal(value).is_finite():
        raise QuoteError(f"{label} must be a number.")
    if value < 0:
        raise QuoteError(f"{label} cannot be below 0 %.")
    if value > most:
        raise QuoteError(f"{label} cannot be above {most} %.")
