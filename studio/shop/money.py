"""Money: whole minor units in storage, Decimal and Fraction in sums, one way to round.

A *minor unit* is the smallest unit that ISO 4217 gives a currency: a cent of a euro, a whole yen,
a thousandth of a Kuwaiti dinar. Floats are refused everywhere with TypeError.
"""

import re
import unicodedata
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from babel import Locale
from babel.numbers import (
    NumberPattern,
    get_currency_precision,
    get_currency_symbol,
    get_decimal_symbol,
    get_group_symbol,
    list_currencies,
    parse_pattern,
)

# Babel's locale data (CLDR) give the decimals people use in daily life. Where those are fewer than
# the minor unit of ISO 4217, the standard is followed: invoices are written to the minor unit.
ISO_DECIMALS = {
    **dict.fromkeys(["AFN", "ALL", "IRR", "KPW", "LAK", "LBP"], 2),
    **dict.fromkeys(["MGA", "MMK", "RSD", "SOS", "SYP", "YER"], 2),
    "IQD": 3,
}


class MoneyError(ValueError):
    """An amount that cannot be taken. Its sentence can stand beside the form field."""


def exact(value: Fraction | Decimal | int) -> Fraction:
    """``value`` as an exact fraction. Raises TypeError for a float, a bool or anything else."""
    if isinstance(value, bool) or not isinstance(value, Fraction | Decimal | int):
        raise TypeError(f"Sums take Fraction, Decimal or int, not {type(value).__name__}.")
    return Fraction(value)


def whole(minor: int) -> int:
    """``minor`` itself. Raises TypeError unless it is an int."""
    if isinstance(minor, bool) or not isinstance(minor, int):
        raise TypeError(f"Money is whole minor units, not {type(minor).__name__}.")
    return minor


def round_half_up(value: Fraction | Decimal | int, step: int = 1) -> int:
    """The multiple of ``step`` nearest to ``value``; the one further from zero when two are near.

    ``value`` and ``step`` are in minor units. Amounts are rounded half up, and a credit mirrors its
    invoice: ``round_half_up(-x) == -round_half_up(x)``. Raises TypeError for a float, ValueError
    for a step below 1.
    """
    if whole(step) < 1:
        raise ValueError("The rounding step is at least one minor unit.")
    amount = exact(value)
    count = (abs(amount) / step + Fraction(1, 2)).__floor__()
    return count * step if amount >= 0 else -count * step


@lru_cache
def decimals(currency: str) -> int:
    """How many decimals ISO 4217 gives ``currency``. Raises MoneyError for an unknown code."""
    if currency not in list_currencies():
        raise MoneyError(f"{currency} is not a currency code of ISO 4217.")
    usual: int = get_currency_precision(currency)
    return ISO_DECIMALS.get(currency, usual)


def to_minor(amount: Decimal | int, currency: str) -> int:
    """``Decimal("24.50")`` euro is ``2450``. Raises MoneyError when it has too many decimals."""
    places = decimals(currency)
    minor: Fraction = exact(amount) * 10**places
    if minor.denominator != 1:
        raise MoneyError(f"{currency} is written with {places_in_words(places)}.")
    return minor.numerator


def to_decimal(minor: int, currency: str) -> Decimal:
    """``2450`` cents is ``Decimal("24.50")``; exact for any size."""
    digits = tuple(int(digit) for digit in str(abs(whole(minor))))
    return Decimal((int(minor < 0), digits, -decimals(currency)))


def places_in_words(places: int) -> str:
    return ("no decimals", "one decimal")[places] if places < 2 else f"at most {places} decimals"


LETTER_BY_DIGIT = re.compile(r"(?<=[^\W\d])(?=\d)|(?<=\d)(?=[^\W\d])")


@lru_cache
def currency_pattern(currency: str, locale: str) -> NumberPattern:
    """The locale's pattern for money, written to the currency's own decimals."""
    pattern = parse_pattern(Locale.parse(locale).currency_formats["standard"].pattern)
    pattern.frac_prec = (decimals(currency), decimals(currency))
    return pattern


def format_money(minor: int, currency: str, locale: str) -> str:
    """Minor units as the locale writes them: ``€1,234.50`` in en_IE, ``1.234,50 €`` in de_DE.

    A letter beside a digit is kept apart by a no-break space, as CLDR's currency spacing asks
    (Unicode technical standard 35, part 3), which Babel leaves out: ``CHF 24.05``.
    """
    shown: str = currency_pattern(currency, locale).apply(
        to_decimal(minor, currency), locale, currency=currency, currency_digits=False
    )
    return LETTER_BY_DIGIT.sub("\N{NO-BREAK SPACE}", shown)


def format_plain(minor: int, currency: str) -> str:
    """Minor units for form fields and CSV: ``24.50``, no sign of currency, no grouping."""
    return f"{to_decimal(minor, currency):f}"


def plain_percent(percent: Decimal) -> str:
    """``13.500`` is ``13.5`` and ``20.000`` is ``20``: no trailing zeros, never an exponent."""
    return f"{percent.normalize():f}"


LONGEST = 12  # digits of one typed amount; sums of such stay within a database integer
IN_THREES = re.compile(r"\d{1,3}(?:(?P<mark>[ '.,])\d{3})(?:(?P=mark)\d{3})*")
IN_TWOS = re.compile(r"\d{1,2}(?:,\d{2})*,\d{3}")
MARKS = str.maketrans(
    {
        "\N{MINUS SIGN}": "-",
        "\N{EN DASH}": "-",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'",
        "\N{ARABIC DECIMAL SEPARATOR}": ".",
        "\N{ARABIC THOUSANDS SEPARATOR}": ",",
    }
)


def parse_money(text: str, currency: str, locale: str, *, allow_negative: bool = False) -> int:
    """Typed text as minor units: ``24``, ``24.50``, ``24,50``, ``1 234,50``, ``€ 1,234.50``.

    Both the point and the comma are understood as the decimal sign. One of them followed by exactly
    three digits could be thousands: there the locale decides, and where it cannot, the text is
    refused. In a currency with three decimals ``1.234`` is always what ``format_plain`` writes.
    Raises MoneyError with a sentence for the form, TypeError when ``text`` is no text.
    """
    if not isinstance(text, str):
        raise TypeError(f"Typed money is text, not {type(text).__name__}.")
    places = decimals(currency)
    match = money_text(currency, locale).fullmatch(plain_characters(text))
    if not match or (match["before"] and match["after"]):
        raise MoneyError(f"Write an amount in {currency}, such as {format_plain(2450, currency)}.")
    negative = bool(match["before"] or match["after"])
    if negative and not allow_negative:
        raise MoneyError("This amount cannot be negative.")
    units, fraction = split_number(match["number"], places, locale)
    if len(fraction) > places:
        raise MoneyError(f"{currency} is written with {places_in_words(places)}.")
    digits = (units + fraction.ljust(places, "0")).lstrip("0")
    if len(digits) > LONGEST:
        raise MoneyError("This amount is too large.")
    minor = int(digits or "0")
    return -minor if negative else minor


def plain_characters(text: str) -> str:
    """ASCII digits, one kind of space, minus and apostrophe; no invisible direction marks."""
    kept = (letter for letter in text.translate(MARKS) if unicodedata.category(letter) != "Cf")
    return "".join(
        str(unicodedata.decimal(letter))
        if letter.isdecimal()
        else " "
        if letter.isspace()
        else letter
        for letter in kept
    ).strip()


@lru_cache
def money_text(currency: str, locale: str) -> re.Pattern[str]:
    """A number with at most one minus and one sign of ``currency`` before or after it."""
    names = (currency, get_currency_symbol(currency, locale), get_currency_symbol(currency, "en"))
    symbols = {plain_characters(name) for name in names}
    # A studio that counts in CA$ or A$ types the plain dollar.
    symbols |= {re.sub(r"[\w.]", "", symbol) for symbol in symbols} - {""}
    sign = "|".join(re.escape(symbol) for symbol in sorted(symbols, key=len, reverse=True))
    return re.compile(
        rf"(?P<before>-?) *(?:(?:{sign}) *)?(?P<after>-?) *"
        rf"(?P<number>[.,]?\d(?:[\d.,' ]*\d)?) *(?:{sign})?",
        re.IGNORECASE,
    )


def split_number(number: str, places: int, locale: str) -> tuple[str, str]:
    """The digits before and after the decimal sign, thousands' marks taken out."""
    decimal_sign = find_decimal_sign(number, places, locale)
    units, _, fraction = number.rpartition(decimal_sign) if decimal_sign else (number, "", "")
    by_twos = "#,##,##0" in Locale.parse(locale).currency_formats["standard"].pattern
    grouped = IN_THREES.fullmatch(units) or (by_twos and IN_TWOS.fullmatch(units))
    if not (units.isdigit() or grouped or (decimal_sign and not units)):
        raise MoneyError("Write thousands in groups of three or without a mark, such as 1234.")
    return re.sub(r"\D", "", units), fraction


def find_decimal_sign(number: str, places: int, locale: str) -> str:
    """The point or comma that starts the decimals of ``number``; empty when there is none."""
    points = re.sub(r"[^.,]", "", number)
    if len(set(points)) == 2:
        return points[-1]
    if len(points) != 1:
        return ""
    sign = points
    could_be_thousands = re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", number)
    plain_form = places == 3 and sign == "."
    if not could_be_thousands or plain_form or sign == get_decimal_symbol(locale):
        return sign
    if places == 3 or sign != get_group_symbol(locale):
        raise MoneyError(
            f"{number} can be read in two ways: write thousands without a mark, such as 1234."
        )
    return ""
