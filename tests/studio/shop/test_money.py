"""Rounding, decimals, reading and writing of money."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from babel.numbers import format_currency, get_currency_precision, list_currencies
from hypothesis import given
from hypothesis import strategies as st

from studio.shop.money import (
    ISO_DECIMALS,
    MoneyError,
    decimals,
    format_money,
    format_plain,
    parse_money,
    round_half_up,
    to_decimal,
    to_minor,
)
from tests.rows import each_row

NBSP, THIN = "\N{NO-BREAK SPACE}", "\N{NARROW NO-BREAK SPACE}"
LOCALES = [
    "en", "en_IE", "en_US", "en_IN", "en_ZA", "en_DE", "de_DE", "de_CH", "fr_FR", "sv_SE",
    "ja_JP", "pl_PL", "pt_BR", "it_IT", "es_ES", "nl_NL", "fr_TN", "ar_KW", "he_IL",
]  # fmt: skip


def iso_minor_units() -> dict[str, str]:
    text = Path(__file__).with_name("iso4217.txt").read_text(encoding="utf-8")
    lines = " ".join(line for line in text.splitlines() if not line.startswith("#"))
    units, places = {}, ""
    for word in lines.split():
        if word.endswith(":"):
            places = word[:-1]
        else:
            units[word] = places
    return units


ISO = {code: int(places) for code, places in iso_minor_units().items() if places != "N.A."}


@pytest.mark.parametrize(
    ("value", "step", "rounded"),
    [
        # HMRC manual VATREC12030, in pence: below half down, half or more up.
        ("234.5", 1, 235),
        ("234.4", 1, 234),
        ("399.8", 1, 400),
        ("0.5", 1, 1),
        ("0.4999999999999999999999999999999999", 1, 0),
        ("-0.5", 1, -1),
        ("-234.5", 1, -235),
        ("-234.4", 1, -234),
        ("0", 1, 0),
        ("2402.5", 5, 2405),
        ("2402.4", 5, 2400),
        ("2425", 50, 2450),
        ("2424.99", 50, 2400),
        ("-2425", 50, -2450),
        ("7", 1, 7),
    ],
)
def test_amounts_are_rounded_half_up(value: str, step: int, rounded: int):
    assert round_half_up(Decimal(value), step) == rounded
    assert round_half_up(Fraction(value), step) == rounded


@given(st.decimals(-(10**12), 10**12, places=6))
def test_rounding_agrees_with_the_decimal_module(value: Decimal):
    """General Decimal Arithmetic, round-half-up: the standard library's own."""
    assert round_half_up(value) == int(value.quantize(Decimal(1), ROUND_HALF_UP))


@given(st.fractions(), st.integers(1, 1000))
def test_a_rounded_amount_is_the_nearest_multiple_and_mirrors_its_credit(value, step):
    rounded = round_half_up(value, step)
    assert rounded % step == 0
    assert abs(rounded - value) * 2 <= step
    assert round_half_up(-value, step) == -rounded


@pytest.mark.parametrize("value", [1.0, "1", True, None])
def test_only_exact_numbers_are_rounded(value: object):
    with pytest.raises(TypeError, match="Sums take Fraction, Decimal or int"):
        round_half_up(value)


@pytest.mark.parametrize("step", [0, -5])
def test_a_step_is_at_least_one_minor_unit(step: int):
    with pytest.raises(ValueError, match="at least one minor unit"):
        round_half_up(Decimal(1), step)


def test_a_step_is_a_whole_number():
    with pytest.raises(TypeError, match="not float"):
        round_half_up(Decimal(1), 0.05)


def test_every_current_currency_has_the_decimals_of_iso_4217():
    assert len(ISO) == 165
    # CLDR, and so Babel, has not heard of the Arab accounting dinar, which nobody pays with.
    assert set(ISO) - set(list_currencies()) == {"XAD"}
    assert {code: decimals(code) for code in ISO if code != "XAD"} == {
        code: places for code, places in ISO.items() if code != "XAD"
    }


def test_the_corrections_of_babel_are_the_needed_ones_and_no_others():
    needed = {
        code: places
        for code, places in ISO.items()
        if code in list_currencies() and get_currency_precision(code) != places
    }
    assert needed == ISO_DECIMALS


def test_the_well_known_exceptions_are_in_the_published_list():
    """A second witness, from memory, so that a slip in copying the list would show."""
    known = {"JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "HUF": 2, "KWD": 3, "BHD": 3, "OMR": 3,
             "JOD": 3, "TND": 3, "LYD": 3, "IQD": 3, "CLF": 4, "UYW": 4, "EUR": 2, "GBP": 2,
             "USD": 2, "CHF": 2}  # fmt: skip
    assert {code: ISO[code] for code in known} == known


@pytest.mark.parametrize("code", ["EURO", "eur", "", "XYZ"])
def test_an_unknown_currency_is_refused(code: str):
    with pytest.raises(MoneyError, match="is not a currency code of ISO 4217"):
        decimals(code)


@pytest.mark.parametrize(
    ("amount", "currency", "minor"),
    [
        ("24.50", "EUR", 2450),
        ("24.5", "EUR", 2450),
        ("24.500", "EUR", 2450),
        ("-24.5", "EUR", -2450),
        ("2450", "JPY", 2450),
        ("24.505", "KWD", 24505),
        ("0", "EUR", 0),
        ("1E+3", "EUR", 100000),
        ("12345678901234567890123456789.01", "EUR", 1234567890123456789012345678901),
    ],
)
def test_an_exact_amount_becomes_minor_units_and_back(amount: str, currency: str, minor: int):
    assert to_minor(Decimal(amount), currency) == minor
    back = to_decimal(minor, currency)
    assert back == Decimal(amount)
    assert -back.as_tuple().exponent == decimals(currency)


@pytest.mark.parametrize(
    ("amount", "currency", "sentence"),
    [
        ("24.505", "EUR", "EUR is written with at most 2 decimals."),
        ("24.5", "JPY", "JPY is written with no decimals."),
        ("24.5055", "KWD", "KWD is written with at most 3 decimals."),
    ],
)
def test_too_many_decimals_are_refused(amount: str, currency: str, sentence: str):
    with pytest.raises(MoneyError) as refused:
        to_minor(Decimal(amount), currency)
    assert str(refused.value) == sentence
    with pytest.raises(MoneyError) as refused:
        parse_money(amount, currency, "en_IE")
    assert str(refused.value) == sentence


@pytest.mark.parametrize(
    "sum_up",
    [
        lambda: to_minor(24.5, "EUR"),
        lambda: to_decimal(2450.0, "EUR"),
        lambda: format_money(2450.0, "EUR", "en"),
        lambda: format_plain(2450.0, "EUR"),
        lambda: format_plain(Decimal(2450), "EUR"),
        lambda: format_money(True, "EUR", "en"),
        lambda: parse_money(24.5, "EUR", "en"),
        lambda: parse_money(Decimal("24.5"), "EUR", "en"),
        lambda: parse_money(None, "EUR", "en"),
    ],
)
def test_floats_and_other_kinds_are_a_programming_error(sum_up):
    with pytest.raises(TypeError):
        sum_up()


READ = [
    ("24", "EUR", "en_IE", 2400),
    ("24.50", "EUR", "en_IE", 2450),
    ("24,50", "EUR", "en_IE", 2450),
    ("24.5", "EUR", "en_IE", 2450),
    ("24,5", "EUR", "de_DE", 2450),
    ("24.50", "EUR", "de_DE", 2450),
    ("  24 ", "EUR", "en_IE", 2400),
    ("0", "EUR", "en_IE", 0),
    ("0.00", "EUR", "en_IE", 0),
    ("007", "EUR", "en_IE", 700),
    (".50", "EUR", "en_IE", 50),
    (",5", "EUR", "de_DE", 50),
    ("1 234,50", "EUR", "en_IE", 123450),
    (f"1{NBSP}234,50", "EUR", "fr_FR", 123450),
    (f"1{THIN}234,50{NBSP}\N{EURO SIGN}", "EUR", "fr_FR", 123450),
    ("1,234.50", "EUR", "en_IE", 123450),
    ("1.234,50", "EUR", "en_IE", 123450),
    ("1,234,567", "EUR", "de_DE", 123456700),
    ("1.234.567,89", "EUR", "en_IE", 123456789),
    ("1'234.50", "CHF", "de_CH", 123450),
    ("1\N{RIGHT SINGLE QUOTATION MARK}234.50", "CHF", "de_CH", 123450),
    ("1234.50", "EUR", "en_IE", 123450),
    ("1234,50", "EUR", "en_IE", 123450),
    ("1,234", "EUR", "en_IE", 123400),
    ("1.234", "EUR", "de_DE", 123400),
    ("12,34,567.00", "INR", "en_IN", 123456700),
    ("12,34,567", "INR", "en_IN", 123456700),
    ("1,234,567", "INR", "en_IN", 123456700),
    ("\N{EURO SIGN}24", "EUR", "en_IE", 2400),
    ("\N{EURO SIGN} 24.50", "EUR", "en_IE", 2450),
    ("24 \N{EURO SIGN}", "EUR", "de_DE", 2400),
    ("EUR 24", "EUR", "en_IE", 2400),
    ("24 eur", "EUR", "en_IE", 2400),
    ("$24", "USD", "en_US", 2400),
    ("$24", "CAD", "en_IE", 2400),
    ("CA$24", "CAD", "en_IE", 2400),
    ("24 kr", "SEK", "sv_SE", 2400),
    ("24 KR", "SEK", "sv_SE", 2400),
    ("R$ 24,50", "BRL", "pt_BR", 2450),
    ("\N{POUND SIGN}250.01", "GBP", "en_GB", 25001),
    ("2400", "JPY", "ja_JP", 2400),
    ("\N{FULLWIDTH YEN SIGN}2,400", "JPY", "ja_JP", 2400),
    ("\N{YEN SIGN}2,400", "JPY", "ja_JP", 2400),
    ("2.400", "JPY", "de_DE", 2400),
    ("\N{FULLWIDTH DIGIT TWO}\N{FULLWIDTH DIGIT FOUR}", "JPY", "ja_JP", 24),
    ("24.505", "KWD", "en", 24505),
    ("24,505", "KWD", "de_DE", 24505),
    ("24.5", "KWD", "en", 24500),
    ("0,505", "KWD", "en", 505),
    ("1234,505", "KWD", "en", 1234505),
    ("1,234.505", "KWD", "en", 1234505),
    ("9 999 999 999,99", "EUR", "en_IE", 999999999999),
    ("000000000000000001", "EUR", "en_IE", 100),
]


@each_row(("text", "currency", "locale", "minor"), READ)
def test_an_amount_is_read_as_people_write_it(text: str, currency: str, locale: str, minor: int):
    assert parse_money(text, currency, locale) == minor


GROUPS = "Write thousands in groups of three or without a mark, such as 1234."
PLAIN = "Write an amount in EUR, such as 24.50."
REFUSED = [
    ("", "EUR", PLAIN),
    ("   ", "EUR", PLAIN),
    ("a lot", "EUR", PLAIN),
    ("24 or 25", "EUR", PLAIN),
    ("24-25", "EUR", PLAIN),
    ("24.", "EUR", PLAIN),
    ("24,-", "EUR", PLAIN),
    ("24 %", "EUR", PLAIN),
    ("2x12", "EUR", PLAIN),
    ("1e3", "EUR", PLAIN),
    ("+24", "EUR", PLAIN),
    ("--24", "EUR", PLAIN),
    ("NaN", "EUR", PLAIN),
    ("\N{EURO SIGN}", "EUR", PLAIN),
    ("$24", "EUR", PLAIN),
    ("24 USD", "EUR", PLAIN),
    ("2\N{SUPERSCRIPT TWO}", "EUR", PLAIN),
    ("\N{VULGAR FRACTION ONE HALF}", "EUR", PLAIN),
    ("x", "JPY", "Write an amount in JPY, such as 2450."),
    ("x", "KWD", "Write an amount in KWD, such as 2.450."),
    ("12 34", "EUR", GROUPS),
    ("1,23,456", "EUR", GROUPS),
    ("1.2.3", "EUR", GROUPS),
    ("1,2345,678.00", "EUR", GROUPS),
    ("1.234,567.00", "EUR", GROUPS),
    ("1 234 56,00", "EUR", GROUPS),
    ("1,234 567.00", "EUR", GROUPS),
    ("24..50", "EUR", GROUPS),
    ("24.505", "EUR", "EUR is written with at most 2 decimals."),
    ("1.234", "EUR", "EUR is written with at most 2 decimals."),
    ("24.5", "JPY", "JPY is written with no decimals."),
    ("24.5051", "KWD", "KWD is written with at most 3 decimals."),
    (
        "1,234",
        "KWD",
        "1,234 can be read in two ways: write thousands without a mark, such as 1234.",
    ),
    ("-24", "EUR", "This amount cannot be negative."),
    ("\N{MINUS SIGN}24", "EUR", "This amount cannot be negative."),
    ("\N{EURO SIGN}-24", "EUR", "This amount cannot be negative."),
    ("10000000000", "EUR", "This amount is too large."),
    ("9" * 5000, "EUR", "This amount is too large."),
]


@each_row(("text", "currency", "sentence"), REFUSED)
def test_what_is_no_clear_amount_is_refused_with_a_sentence(
    text: str, currency: str, sentence: str
):
    with pytest.raises(MoneyError) as refused:
        parse_money(text, currency, "en_IE")
    assert str(refused.value) == sentence


@pytest.mark.parametrize(
    ("text", "locale"), [("1.234", "fr_FR"), ("1,234", "de_CH"), ("1.234", "sv_SE")]
)
def test_thousands_that_the_locale_cannot_decide_are_refused(text: str, locale: str):
    """French and Swedish write thousands with a space, Swiss German with an apostrophe."""
    with pytest.raises(MoneyError) as refused:
        parse_money(text, "EUR", locale)
    assert str(refused.value) == (
        f"{text} can be read in two ways: write thousands without a mark, such as 1234."
    )


@pytest.mark.parametrize(
    "text",
    [
        "-24.50",
        "\N{MINUS SIGN}24.50",
        "\N{EN DASH}24,50",
        "-\N{EURO SIGN}24.50",
        "\N{EURO SIGN} -24.50",
    ],
)
def test_a_negative_amount_is_taken_where_it_is_allowed(text: str):
    assert parse_money(text, "EUR", "en_IE", allow_negative=True) == -2450


@pytest.mark.parametrize(
    ("minor", "currency", "locale", "shown"),
    [
        (123450, "EUR", "en_IE", "\N{EURO SIGN}1,234.50"),
        (123450, "EUR", "de_DE", f"1.234,50{NBSP}\N{EURO SIGN}"),
        (123450, "EUR", "fr_FR", f"1{THIN}234,50{NBSP}\N{EURO SIGN}"),
        (-2450, "EUR", "en_IE", "-\N{EURO SIGN}24.50"),
        (2400, "JPY", "ja_JP", "\N{FULLWIDTH YEN SIGN}2,400"),
        (24505, "KWD", "en", f"KWD{NBSP}24.505"),
        (12345678, "INR", "en_IN", "\N{INDIAN RUPEE SIGN}1,23,456.78"),
        (0, "USD", "en_US", "$0.00"),
        (5, "RSD", "en", f"RSD{NBSP}0.05"),
    ],
)
def test_money_is_shown_as_the_locale_writes_it(minor: int, currency: str, locale: str, shown: str):
    """The patterns are those of the Unicode CLDR."""
    assert format_money(minor, currency, locale) == shown


@each_row("locale", LOCALES)
@each_row("currency", ["EUR", "USD", "JPY", "KWD", "CLF"])
@each_row("minor", [0, 5, -123456789])
def test_money_is_shown_as_babel_does_where_the_decimals_agree(minor, currency, locale):
    expected = format_currency(to_decimal(minor, currency), currency, locale=locale)
    shown = format_money(minor, currency, locale)
    assert shown.replace(NBSP, "") == expected.replace(NBSP, "")
    assert shown.count(NBSP) >= expected.count(NBSP)


@pytest.mark.parametrize(
    ("minor", "currency", "shown"),
    [
        (2450, "EUR", "24.50"),
        (-5, "EUR", "-0.05"),
        (0, "EUR", "0.00"),
        (2450, "JPY", "2450"),
        (1, "KWD", "0.001"),
        (123456789012, "EUR", "1234567890.12"),
    ],
)
def test_money_for_fields_and_files_is_plain(minor: int, currency: str, shown: str):
    assert format_plain(minor, currency) == shown


currencies = st.sampled_from(sorted(set(ISO) - {"XAD"}))


@given(st.integers(1 - 10**12, 10**12 - 1), currencies, st.sampled_from(LOCALES))
def test_what_a_field_shows_is_read_back_the_same(minor, currency, locale):
    shown = format_plain(minor, currency)
    assert parse_money(shown, currency, locale, allow_negative=True) == minor


@given(st.integers(0, 10**12 - 1), currencies, st.sampled_from(LOCALES))
def test_what_a_page_shows_can_be_typed_back(minor, currency, locale):
    """Copying a price from a page never changes it: it is read the same or refused."""
    try:
        assert parse_money(format_money(minor, currency, locale), currency, locale) == minor
    except MoneyError as refused:
        assert "in two ways" in str(refused)  # noqa: PT017 -- both outcomes are right


@given(st.text(max_size=30), currencies, st.sampled_from(LOCALES))
def test_any_text_is_an_amount_or_a_sentence(text, currency, locale):
    try:
        assert parse_money(text, currency, locale) >= 0
    except MoneyError as refused:
        assert str(refused).endswith(".")  # noqa: PT017 -- both outcomes are right
