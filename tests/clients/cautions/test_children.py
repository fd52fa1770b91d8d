"""Children's clothes against the published limits. Read: 16 CFR 1615.1(c), 16 CFR 1120."""

from decimal import Decimal

import pytest

from clients.cautions.garments import (
    ONE_PIECE,
    TWO_PIECE,
    US_FREE_END,
    eu_cord,
    infant_exempt,
    us_cord,
    us_size,
)

INCH = Decimal("25.4")


def mm(centimetres: str) -> Decimal:
    return Decimal(centimetres) * 10


@pytest.mark.parametrize(
    ("centimetres", "two_piece", "exempt"),
    [
        # The rule prints 64.8 cm (25.75 in) for a one-piece, 40 cm (15.75 in) for a piece of two.
        ("64.8", False, True),
        ("65.0", False, False),  # below 25.75 in, which are 65.4 cm: the stricter figure holds
        ("66.0", False, False),
        ("40.0", True, True),
        ("41.0", True, False),
        ("64.8", True, False),
    ],
)
def test_an_infants_garment_is_exempt_up_to_the_stricter_printed_length(
    centimetres, two_piece, exempt
):
    answer = infant_exempt(length_mm=mm(centimetres), months=9, two_piece=two_piece)
    assert answer is exempt


def test_the_printed_pairs_are_no_conversions_of_each_other():
    assert ONE_PIECE == 648 < Decimal("25.75") * INCH
    assert TWO_PIECE == 400 < Decimal("15.75") * INCH


def test_a_label_beyond_nine_months_ends_the_exemption():
    assert infant_exempt(length_mm=mm("60"), months=9)
    assert not infant_exempt(length_mm=mm("60"), months=12)


def test_a_waist_cord_of_three_inches_is_allowed_and_a_quarter_more_is_not():
    three = 3 * INCH
    assert us_cord(place="waist", size=10, end_mm=three) == ()
    (wrong,) = us_cord(place="waist", size=10, end_mm=three + INCH / 4)
    assert "At most 3 in" in wrong
    assert Decimal("76.2") == US_FREE_END


@pytest.mark.parametrize("size", [2, 5, 12])
def test_no_cord_at_all_at_hood_or_neck_from_2t_to_12(size):
    assert us_cord(place="neck", size=size, end_mm=Decimal(1))
    assert us_cord(place="neck", size=size, end_mm=Decimal(0))


@pytest.mark.parametrize(("place", "size"), [("neck", 14), ("waist", 18), ("neck", 1)])
def test_beyond_its_sizes_the_rule_is_silent(place, size):
    assert us_cord(place=place, size=size, end_mm=Decimal(300), loose_end=True) == ()


def test_toggles_knots_and_loose_cords_at_the_waist():
    broken = us_cord(place="waist", size=16, end_mm=Decimal(300), loose_end=True, tacked=False)
    assert [words.split()[0] for words in broken] == ["At", "No", "A"]


@pytest.mark.parametrize(
    ("typed", "size"), [("2T", 2), (" 4t ", 4), ("10", 10), ("6X", 6), ("M", None), ("", None)]
)
def test_sizes_as_they_stand_on_labels(typed, size):
    assert us_size(typed) == size


@pytest.mark.parametrize(
    ("place", "years", "end", "allowed"),
    [
        # EN 14682 as authorities and summaries give it; 14 cm is its 2007 text.
        ("neck", 6, 0, False),
        ("neck", 7, 0, True),
        ("neck", 7, 1, False),
        ("neck", 14, 1, False),
        ("neck", 15, 200, True),
        ("waist", 6, 140, True),
        ("waist", 6, 141, False),
        ("waist", 14, 141, False),
        ("waist", 15, 300, True),
    ],
)
def test_cords_by_the_european_standard(place, years, end, allowed):
    assert (eu_cord(place=place, years=years, end_mm=Decimal(end)) == ()) is allowed
