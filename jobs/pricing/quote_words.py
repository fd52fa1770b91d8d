"""The words of a quote: what goes in and what comes out.

All money is int in minor units of ``Terms.currency``. Percentages are Decimal: ``Decimal("13.5")``
is 13.5 %. Minutes are int bench minutes.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


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
class Surcharge:
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
    surcharges: tuple[Surcharge, ...] = ()
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
class Step:
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
    steps: tuple[Step, ...]
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
