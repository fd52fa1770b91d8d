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

The result does not depend on the order of the items, except that lines stay in it. No Django, no
float, no clock: O(n log n) for n lines.
"""

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction

from jobs.pricing.quote_checks import MINIMUM_CHARGE, check
from jobs.pricing.quote_shares import share_out
from jobs.pricing.quote_taxes import Priced, largest_share, tax_by_rate
from jobs.pricing.quote_words import (
    Item,
    Quote,
    QuotedLine,
    QuoteError,
    Step,
    Surcharge,
    Tax,
    TaxMode,
    TaxSum,
    Terms,
)
from studio.shop.money import exact, round_half_up

__all__ = [
    "Item",
    "Quote",
    "QuoteError",
    "QuotedLine",
    "Step",
    "Surcharge",
    "Tax",
    "TaxMode",
    "TaxSum",
    "Terms",
    "explain",
    "quote",
]


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


def explain(line: QuotedLine, show: Callable[[int], str]) -> str:
    """The steps of a line in words: ``hem 24.00, lined +25 % 6.00, rush +20 % 6.00``.

    ``show`` writes minor units. More than one piece reads ``button 3 x 2.00 = 6.00``.
    """
    first, *others = line.steps
    pieces, each = line.item.quantity, show(line.item.unit_price)
    counted = f"{pieces} \N{MULTIPLICATION SIGN} {each} = " if pieces > 1 else ""
    words = [f"{first.name} {counted}{show(first.amount)}"]
    for step in others:
        percent = "" if step.percent is None else f"{show_percent(step.percent)} "
        words.append(f"{step.name} {percent}{show(step.amount)}")
    return ", ".join(words)


def show_percent(percent: Decimal) -> str:
    """With its sign and without idle zeros: ``+25 %``, ``-12.5 %``."""
    shown = f"{percent:+f}"
    return f"{shown.rstrip('0').rstrip('.') if '.' in shown else shown} %"


def price_line(item: Item, terms: Terms) -> Priced:
    """Base, surcharges, rush and percentage discount; rounded once to the rounding step."""
    base = item.unit_price * item.quantity
    steps = [Step(item.name, base)]
    total = Fraction(base)

    def add(name: str, of: Fraction | int, percent: Decimal) -> None:
        nonlocal total
        if percent:
            amount = of * exact(percent) / 100
            steps.append(Step(name, round_half_up(amount), percent))
            total += amount

    for surcharge in item.surcharges:
        add(surcharge.name, base, surcharge.percent)
        if surcharge.amount:
            steps.append(Step(surcharge.name, surcharge.amount * item.quantity))
            total += surcharge.amount * item.quantity
    add("rush", total, terms.rush_percent)
    add("discount", total, -terms.discount_percent)
    price = round_half_up(total, terms.rounding_step)
    if rounding := price - sum(step.amount for step in steps):
        steps.append(Step("rounding", rounding))
    return Priced(item, tuple(steps))


def lift_to_minimum(lines: Sequence[Priced], terms: Terms) -> list[Priced]:
    """The line that lifts the work to the minimum charge, when one is needed."""
    total = sum(line.price for line in lines)
    if not 0 < total < terms.minimum_charge:
        return []
    lift = terms.minimum_charge - total
    item = Item(MINIMUM_CHARGE, MINIMUM_CHARGE, lift, tax=largest_share(lines))
    return [Priced(item, (Step(MINIMUM_CHARGE, lift),))]


def take_off(lines: list[Priced], amount: int) -> list[Priced]:
    """Share a discount in money over the lines, so that its parts add up."""
    prices = [line.price for line in lines]
    if amount > sum(prices):
        raise QuoteError("The discount is more than the work costs.")
    parts = share_out(amount, prices, [line.order for line in lines])
    return [
        line._replace(steps=(*line.steps, Step("discount", -part))) if part else line
        for line, part in zip(lines, parts, strict=True)
    ]


def finish(line: Priced, tax: int, mode: TaxMode) -> QuotedLine:
    net = line.price - tax if mode == TaxMode.INCLUDED else line.price
    return QuotedLine(
        line.item, line.steps, line.price, net, tax, net + tax, line_minutes(line.item)
    )


def line_minutes(item: Item) -> int:
    """Bench minutes for all pieces of a line, rounded up."""
    percent = sum(exact(surcharge.minutes_percent) for surcharge in item.surcharges)
    added = sum(surcharge.minutes for surcharge in item.surcharges)
    return (item.quantity * (item.minutes * (1 + percent / 100) + added)).__ceil__()


def ask_deposit(gross: int, terms: Terms) -> int:
    if terms.deposit_amount is not None:
        return min(terms.deposit_amount, gross)
    return min(round_half_up(gross * exact(terms.deposit_percent) / 100), gross)
