"""Lengths: what may be typed, what is kept, and what is shown.

The inch is 25.4 mm and the yard 914.4 mm exactly: NIST Special Publication 811, appendix B.8
(international inch and yard).
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.fit.lengths import (
    Length,
    LengthError,
    parse_length,
    show_change,
    show_length,
)
from tests.rows import each_row

SIXTEENTHS = range(1, 1601)
VULGAR = {
    Fraction(1, 8): "\N{VULGAR FRACTION ONE EIGHTH}",
    Fraction(1, 4): "\N{VULGAR FRACTION ONE QUARTER}",
    Fraction(3, 8): "\N{VULGAR FRACTION THREE EIGHTHS}",
    Fraction(1, 2): "\N{VULGAR FRACTION ONE HALF}",
    Fraction(5, 8): "\N{VULGAR FRACTION FIVE EIGHTHS}",
    Fraction(3, 4): "\N{VULGAR FRACTION THREE QUARTERS}",
    Fraction(7, 8): "\N{VULGAR FRACTION SEVEN EIGHTHS}",
}
HALF = VULGAR[Fraction(1, 2)]


def spellings(inches: Fraction) -> list[str]:
    """The ways one writes ``inches``, made without the program's own writing."""
    whole, rest = divmod(inches, 1)
    if not rest:
        return [str(whole), f'{whole}"', f"{whole} in"]
    fraction = f"{rest.numerator}/{rest.denominator}"
    if not whole:
        return [fraction, f'{fraction}"', *([VULGAR[rest]] if rest in VULGAR else [])]
    mixed = [f"{whole} {fraction}", f"{whole}-{fraction}", f"{whole} {fraction} in"]
    return mixed + ([f"{whole}{VULGAR[rest]}"] if rest in VULGAR else [])


def test_every_sixteenth_of_an_inch_survives():
    """From 1/16 to 100 inches: typed in any way, kept exactly, shown as it was."""
    for count in SIXTEENTHS:
        inches = Fraction(count, 16)
        for text in (*spellings(inches), str(Decimal(count) / 16)):
            length = parse_length(text, "in")
            assert Fraction(length.mm) == inches * Fraction(254, 10), text
            assert length.mm.as_tuple().exponent == -4
            assert show_length(length.mm, "in") == spellings(inches)[0], text


def test_every_eighth_of_a_yard_survives():
    """An eighth of a yard is 4 1/2 inches."""
    for count in range(1, 88):
        yards = Fraction(count, 8)
        text = spellings(yards)[0]
        length = parse_length(f"{text} yd", "cm")
        assert Fraction(length.mm) == count * Fraction(9, 2) * Fraction(254, 10)
        assert show_length(length.mm, "yd") == text


@pytest.mark.parametrize("text", ["0", "0 cm", "0.0", "0/2", "0 in"])
def test_nothing_is_a_length_where_it_can_be_meant(text: str):
    assert parse_length(text, "cm", zero=True).mm == 0


@pytest.mark.parametrize("text", ["-1", "0.000001 in", ""])
def test_less_than_nothing_is_no_length_anywhere(text: str):
    with pytest.raises(LengthError):
        parse_length(text, "cm", zero=True)


def test_every_millimetre_survives_in_every_metric_unit():
    for tenths in range(1, 2001):
        mm = Decimal(tenths) / 10
        assert parse_length(f"{mm} mm", "cm").mm == mm
        assert parse_length(f"{mm / 10}", "cm").mm == mm
        if tenths % 10 == 0:
            assert Decimal(show_length(mm, "cm")) * 10 == mm
        assert Decimal(show_length(mm, "mm")) == mm


@each_row(
    ("text", "unit", "mm", "read_in"),
    [
        # 1/8 yard is 4.5 in and 5/8 in is 1.5875 cm, by the definition of the yard of 0.9144 m.
        ("31 1/2", "in", "800.1", "in"),
        (f"31{HALF}", "in", "800.1", "in"),
        (f"31 {HALF}", "in", "800.1", "in"),
        ("31-1/2", "in", "800.1", "in"),
        ("31 - 1/2", "in", "800.1", "in"),
        ("31 \N{EN DASH} 1/2", "in", "800.1", "in"),
        ("31 1 / 2", "in", "800.1", "in"),
        ("31 1\N{FRACTION SLASH}2", "in", "800.1", "in"),
        ("31.5", "in", "800.1", "in"),
        ("31,5", "in", "800.1", "in"),
        ("31 1/2 in", "cm", "800.1", "in"),
        ("31 1/2in", "cm", "800.1", "in"),
        ("31 1/2 in.", "cm", "800.1", "in"),
        ("31 1/2 IN", "cm", "800.1", "in"),
        ("31 1/2 inches", "cm", "800.1", "in"),
        ("1 inch", "cm", "25.4", "in"),
        ('31 1/2"', "cm", "800.1", "in"),
        (f'31{HALF}"', "cm", "800.1", "in"),
        ("31 1/2\N{DOUBLE PRIME}", "cm", "800.1", "in"),
        ("31 1/2\N{RIGHT DOUBLE QUOTATION MARK}", "cm", "800.1", "in"),
        ("31 1/2''", "cm", "800.1", "in"),
        ("31 1/2\N{PRIME}\N{PRIME}", "cm", "800.1", "in"),
        ('12"', "cm", "304.8", "in"),
        ('5/8"', "cm", "15.875", "in"),
        ("4.5 in", "cm", "114.3", "in"),
        ("27\N{VULGAR FRACTION THREE EIGHTHS}", "in", "695.325", "in"),
        ("27 3/8", "in", "695.325", "in"),
        ("27.375", "in", "695.325", "in"),
        ("1/2", "in", "12.7", "in"),
        (HALF, "in", "12.7", "in"),
        ("0 1/2", "in", "12.7", "in"),
        ("6/8", "in", "19.05", "in"),
        ("80", "cm", "800", "cm"),
        ("80 cm", "in", "800", "cm"),
        ("80cm", "in", "800", "cm"),
        ("80 CM", "in", "800", "cm"),
        ("  80   cm ", "in", "800", "cm"),
        ("80\N{NO-BREAK SPACE}cm", "in", "800", "cm"),
        ("80,5", "cm", "805", "cm"),
        ("80.5", "cm", "805", "cm"),
        ("80.50 cm", "cm", "805", "cm"),
        ("80.25", "cm", "802.5", "cm"),
        ("69,5 cm", "in", "695", "cm"),
        (f"4{HALF} cm", "cm", "45", "cm"),
        ("4 1/4", "cm", "42.5", "cm"),
        (".5", "cm", "5", "cm"),
        (",5", "cm", "5", "cm"),
        ("007", "cm", "70", "cm"),
        ("45 mm", "cm", "45", "mm"),
        ("45", "mm", "45", "mm"),
        ("1587,5 mm", "in", "1587.5", "mm"),
        ("1000", "cm", "10000", "cm"),
        ("\N{FULLWIDTH DIGIT EIGHT}\N{FULLWIDTH DIGIT ZERO} cm", "in", "800", "cm"),
        ("0.03", "in", "0.762", "in"),
        ("1/8 yd", "cm", "114.3", "yd"),
        ("2 3/8 yd", "in", "2171.7", "yd"),
        ("1 yd", "cm", "914.4", "yd"),
        ("1 yard", "cm", "914.4", "yd"),
        ("2 yards", "cm", "1828.8", "yd"),
        (f"1{HALF} yds", "cm", "1371.6", "yd"),
        ("2.5 yd.", "cm", "2286", "yd"),
        ("2 3/4", "yd", "2514.6", "yd"),
        ("1.00001", "in", "25.4003", "in"),
    ],
)
def test_a_length_is_read_as_people_write_it(text: str, unit: str, mm: str, read_in: str):
    """At least forty spellings."""
    length = parse_length(text, unit)
    assert length == Length(Decimal(mm), " ".join(text.split()), read_in)


WANTED = "Write a length such as 80 cm, 80.5, 45 mm or 31 1/2 in."
ONE_UNIT = "Write one number and one unit, m, cm, mm, in or yd: 80 cm, 4 m, 31 1/2 in or 2 3/8 yd."
FRACTION = "Write a fraction in halves, quarters, eighths or sixteenths: 31 5/8."
MORE = "A length is more than nothing, such as 4.5 cm or 1 3/4 in."
YARDS = "Write a yard in halves, quarters or eighths: 2 3/8 yd."
LONG = "A length is at most 10 metres: 1000 cm, 393 in or 10 7/8 yd."
FINE = "A tenth of a millimetre is the finest: 80.25 cm or 31 5/8 in."


@each_row(
    ("text", "unit", "sentence"),
    [
        ("", "cm", WANTED),
        ("   ", "in", WANTED),
        ("cm", "cm", WANTED),
        ('"', "in", WANTED),
        ("-", "cm", WANTED),
        ("-5", "cm", WANTED),
        ("-5 cm", "cm", WANTED),
        ("+5", "cm", WANTED),
        ("\N{MINUS SIGN}5", "cm", WANTED),
        ("80.", "cm", WANTED),
        ("8.0.5", "cm", WANTED),
        ("1.234,5", "cm", WANTED),
        ("80..5", "cm", WANTED),
        ("80 5", "cm", WANTED),
        ("31 12", "in", WANTED),
        ("31 1", "in", WANTED),
        ("31 1/", "in", WANTED),
        ("/2", "in", WANTED),
        ("31 /2", "in", FRACTION),
        ("31 1/2/3", "in", WANTED),
        ("31.5 1/2", "in", WANTED),
        ("31 1.5/2", "in", WANTED),
        (f"{HALF}{HALF}", "in", WANTED),
        (f"31{HALF}.5", "in", WANTED),
        (f"1{HALF} 1/2", "in", WANTED),
        (f"{HALF}1", "in", WANTED),
        ("31--1/2", "in", WANTED),
        ("80 %", "cm", WANTED),
        ("$80", "cm", WANTED),
        ("8\N{SUPERSCRIPT TWO}", "cm", WANTED),
        ("NaN", "cm", ONE_UNIT),
        ("inf", "cm", ONE_UNIT),
        ("1e3", "cm", ONE_UNIT),
        ("0x10", "cm", ONE_UNIT),
        ("eighty", "cm", ONE_UNIT),
        ("cm 80", "cm", ONE_UNIT),
        ("about 80", "cm", ONE_UNIT),
        ("80 or 81", "cm", ONE_UNIT),
        ("80 cm in", "cm", ONE_UNIT),
        ("5 cm 3 mm", "cm", ONE_UNIT),
        ("5' 4\"", "in", ONE_UNIT),
        ("5'", "in", ONE_UNIT),
        ("5 ft", "in", ONE_UNIT),
        ("2 km", "cm", ONE_UNIT),
        ("1 yd 4 in", "in", ONE_UNIT),
        ("1 3/16 yd", "in", YARDS),
        ("1/3 yd", "in", YARDS),
        ("11 yd", "in", LONG),
        ('12" in', "in", ONE_UNIT),
        ("1/3", "in", FRACTION),
        ("31 1/5", "in", FRACTION),
        ("31 3/32", "in", FRACTION),
        ("31 1/0", "in", FRACTION),
        ("31 9/8", "in", FRACTION),
        ("31 2/2", "in", FRACTION),
        ("3111/2", "in", FRACTION),
        ("\N{VULGAR FRACTION ONE THIRD}", "in", FRACTION),
        ("0", "cm", MORE),
        ("0.0", "cm", MORE),
        ("0 in", "cm", MORE),
        ("0/2", "in", MORE),
        ("0.000001", "in", MORE),
        ("1000.1", "cm", LONG),
        ("394", "in", LONG),
        ("10001 mm", "cm", LONG),
        ("80.123", "cm", FINE),
        ("27 3/8", "cm", FINE),
        ("1/4 mm", "cm", FINE),
        ("1.25 mm", "cm", FINE),
        ("9" * 21, "cm", WANTED),
        ("9" * 5000, "cm", WANTED),
    ],
)
def test_what_is_no_clear_length_is_refused_with_a_sentence(text: str, unit: str, sentence: str):
    with pytest.raises(LengthError) as refused:
        parse_length(text, unit)
    assert str(refused.value) == sentence


@pytest.mark.parametrize("sentence", [WANTED, ONE_UNIT, FRACTION, YARDS, MORE, LONG, FINE])
def test_every_example_in_a_refusal_is_accepted(sentence: str):
    _, _, examples = sentence.replace(" such as ", ": ").partition(": ")
    for example in examples.rstrip(".").replace(" or ", ", ").split(", "):
        assert parse_length(example, "in").mm > 0


@each_row(
    ("mm", "unit", "shown"),
    [
        ("695.325", "in", "27 3/8"),
        ("800.1", "in", "31 1/2"),
        ("25.4", "in", "1"),
        ("1.5875", "in", "1/16"),
        ("0", "in", "0"),
        ("0.79", "in", "0"),
        ("0.79375", "in", "1/16"),
        ("45", "in", "1 3/4"),
        ("695", "in", "27 3/8"),
        ("-12.7", "in", "-1/2"),
        ("-38.1", "in", "-1 1/2"),
        ("45", "cm", "4.5"),
        ("800", "cm", "80"),
        ("805.0000", "cm", "80.5"),
        ("695.325", "cm", "69.5"),
        ("0.5", "cm", "0.1"),
        ("0", "cm", "0"),
        ("-45", "cm", "-4.5"),
        ("100", "cm", "10"),
        ("45", "mm", "45"),
        ("45.25", "mm", "45.3"),
        ("15.8750", "mm", "15.9"),
    ],
)
def test_a_length_is_shown_in_sixteenths_or_tenths(mm: str, unit: str, shown: str):
    assert show_length(Decimal(mm), unit) == shown


@pytest.mark.parametrize(
    ("mm", "unit", "shown"),
    [
        ("12.7", "in", "+1/2"),
        ("-45", "cm", "\N{MINUS SIGN}4.5"),
        ("0", "in", "0"),
        ("-0.1", "cm", "0"),
    ],
)
def test_a_change_is_shown_with_its_sign(mm: str, unit: str, shown: str):
    assert show_change(Decimal(mm), unit) == shown


def test_whole_millimetres_may_be_plain_numbers():
    assert show_length(45, "cm") == "4.5"


def test_a_float_is_no_length():
    with pytest.raises(TypeError, match="not float"):
        show_length(45.0, "cm")


@given(st.integers(1, 6299), st.sampled_from(["cm", "in", "mm"]))
def test_what_is_shown_in_inches_is_read_back_the_same(count: int, other: str):
    mm = Decimal(count) * Decimal("1.5875")
    assert parse_length(f"{show_length(mm, 'in')} in", other).mm == mm


@given(st.text(alphabet="0123456789 .,/-'\"cmin" + HALF, max_size=12))
def test_any_text_is_a_length_or_a_sentence(text: str):
    try:
        assert parse_length(text, "in").mm > 0
    except LengthError as refused:
        assert str(refused).endswith(".")  # noqa: PT017 -- both outcomes are right


@pytest.mark.parametrize(
    ("typed", "mm", "shown"),
    [("4 m", 4000, "4"), ("1,65 m", 1650, "1.65"), ("2 metres", 2000, "2"), ("10 m", 10_000, "10")],
)
def test_metres_are_read_and_shown(typed, mm, shown):
    read = parse_length(typed, "in")
    assert (read.mm, read.unit) == (mm, "m")
    assert show_length(read.mm, "m") == shown
