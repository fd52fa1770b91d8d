"""Sizes read off measures, against the published examples and limits."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.fit.handbook import table
from clients.fit.measures import bra_size, bust_size, by_high_bust, drop

# EN 13402-3:2005 as the manual page of bustSizesStandard (Anthropometry, CRAN) gives it: seen.
LIMITS = [74, 78, 82, 86, 90, 94, 98, 102, 107, 113, 119, 125, 131]
girths = st.decimals(600, 1500, places=1)


def cm(text: str) -> Decimal:
    return Decimal(text) * 10


def inches(text: str) -> Decimal:
    return Decimal(text) * Decimal("25.4")


def test_the_limits_of_the_standard():
    """Exactly 13 limits and 12 sizes."""
    rows = table("bust_intervals")
    assert [int(row["low"]) for row in rows] == LIMITS[:-1]
    assert [int(row["high"]) for row in rows] == LIMITS[1:]
    assert len({row["size"] for row in rows}) == len(rows) == 12


@pytest.mark.parametrize(
    ("bust", "size"),
    [
        # Intervals by the limits (seen): 86-90, 102-107, 119-125; the sizes: common practice.
        ("87", 88),
        ("102.5", 104),
        ("119.5", 122),
        # A limit opens the interval above it; the last one closes the last (the program's rule).
        ("74", 76),
        ("78", 80),
        ("77.9", 76),
        ("131", 128),
        ("73.9", None),
        ("131.1", None),
    ],
)
def test_a_size_by_the_bust(bust, size):
    assert bust_size(cm(bust)) == size


@given(girths)
def test_a_bust_lies_between_the_limits_of_its_size(bust):
    size = bust_size(bust)
    if size is None:
        assert bust < 740 or bust > 1310
    else:
        (row,) = (row for row in table("bust_intervals") if row["size"] == str(size))
        assert 10 * int(row["low"]) <= bust <= 10 * int(row["high"])


@pytest.mark.parametrize(
    ("under", "bust", "size"),
    [
        # Worked examples of a reference page on EN 13402 (seen).
        ("87", "107", "85D"),
        ("89", "108", "90D"),
        ("82", "100", "80C"),
        # The same rule: a difference of 18 is still C, above it D; of 10 no letter is known.
        ("82", "100.1", "80D"),
        ("82", "92", None),
        ("82", "92.1", "80AA"),
        ("82", "104", "80E"),
        ("82", "104.1", None),
        ("100", "90", None),
    ],
)
def test_a_bra_size(under, bust, size):
    assert bra_size(cm(under), cm(bust)) == size


# The same page (seen, 2nd): 83 to 87 are 85, 88 to 92 are 90.
@pytest.mark.parametrize(("under", "band"), [(83, 85), (87, 85), (88, 90), (92, 90)])
def test_a_band_is_the_nearest_five(under, band):
    assert bra_size(cm(str(under)), cm(str(under + 17))) == f"{band}C"


@given(girths, st.decimals(101, 220, places=1))
def test_a_band_is_never_further_than_two_and_a_half(under, more):
    size = bra_size(under, under + more)
    assert size is not None
    assert abs(int(size.rstrip("ABCDE")) * 10 - under) <= 25


def test_cups_leave_no_gap():
    rows = table("cups")
    assert [row["upto"] for row in rows[:-1]] == [row["above"] for row in rows[1:]]


@pytest.mark.parametrize(
    ("high", "bust", "by_high"),
    [
        # "Principles of Pattern Alteration", Texas extension service (seen): 2 in (5 cm) or more.
        (cm("90"), cm("95"), True),
        (cm("90"), cm("94.9"), False),
        (inches("36"), inches("38"), True),
        (inches("36"), inches("37.75"), False),
        (cm("90"), cm("90"), False),
    ],
)
def test_a_pattern_is_chosen_by_the_high_bust_from_five_cm_on(high, bust, by_high):
    assert by_high_bust(high, bust) is by_high


@pytest.mark.parametrize(
    ("chest", "waist", "inch", "usual"),
    [
        # US Army TM 10-227, page 1-1 (seen): the drop is normally 4 to 7 in.
        ("42", "36", "6", True),
        ("42", "40", "2", False),
        ("42", "38", "4", True),
        ("42", "35", "7", True),
        ("42", "34.9375", "7.0625", False),
        ("42", "44", "-2", False),
    ],
)
def test_a_drop(chest, waist, inch, usual):
    difference = drop(inches(chest), inches(waist))
    assert (difference.mm, difference.usual) == (inches(inch), usual)
