"""What cannot be priced is refused before any sum is made, in a sentence for the counter."""

from collections.abc import Sequence
from decimal import Decimal

from jobs.pricing.quote_words import Item, QuoteError, Surcharge, Tax, TaxMode, Terms
from studio.shop.money import LONGEST, MoneyError, decimals

MINIMUM_CHARGE = "minimum charge"  # the name and the key of the line that the rule adds
MOST = 10**LONGEST  # minor units or minutes; keeps every total within a database integer
MOST_PIECES = 10_000
MOST_PERCENT = 1000


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


def check_surcharge(label: str, surcharge: Surcharge) -> None:
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
