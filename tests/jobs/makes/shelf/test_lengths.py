"""Lengths of cloth are exact in both units.

An international yard is 0.9144 m exactly, a foot a third and an inch a thirty-sixth of it (NIST
Handbook 44, appendix C; the agreement of 1959).
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.fit.lengths import LengthError
from jobs.makes.lengths import parse_cloth, show_cloth

YARD = Fraction("914.4")


@pytest.mark.parametrize(
    ("typed", "bare", "mm", "kept"),
    [
        ("1.35", "m", "1350", "1.35 m"),
        ("1,35 m", "yd", "1350", "1,35 m"),
        ("1 m 35", "m", "1350", "1 m 35"),
        ("135 cm", "m", "1350", "135 cm"),
        ("2 3/8", "yd", "2171.7", "2 3/8 yd"),
        ("2 yd 13 1/2 in", "m", "2171.7", "2 yd 13 1/2 in"),
        ('54"', "cm", "1371.6", '54"'),
    ],
)
def test_what_people_write(typed, bare, mm, kept):
    length = parse_cloth(typed, bare)
    assert (length.mm, length.typed) == (Decimal(mm), kept)


def written(eighths: int) -> str:
    """Eighths of a yard as people write them: 19 are ``2 3/8``."""
    return " ".join(str(part) for part in divmod(Fraction(eighths, 8), 1) if part)


@given(st.integers(1, 250 * 8))
def test_eighths_of_a_yard_come_back_as_they_were_typed(eighths):
    typed = written(eighths)
    length = parse_cloth(typed, "yd")
    assert Fraction(length.mm) == YARD * eighths / 8
    assert length.unit == "yd"
    assert show_cloth(length.mm, "yd") == f"{typed} yd"


@given(st.integers(1, 250_000))
def test_millimetres_come_back_as_metres(mm):
    length = parse_cloth(f"{mm // 1000}.{mm % 1000:03d}", "m")
    assert length.mm == mm
    assert parse_cloth(show_cloth(length.mm, "m"), "yd").mm == mm


@given(st.lists(st.integers(1, 40), min_size=1, max_size=30))
def test_cutting_eighths_off_a_sum_of_them_leaves_nothing(pieces):
    left = sum((parse_cloth(written(piece), "yd").mm for piece in pieces), Decimal(0))
    for piece in pieces:
        left -= parse_cloth(f"{written(piece)} yd", "m").mm
    assert left == 0


@pytest.mark.parametrize("typed", ["", "0", "-1", "much", "1/0", "1 m 2 yd", "300", "0.00001 m"])
def test_what_is_no_length_is_refused(typed):
    with pytest.raises(LengthError):
        parse_cloth(typed, "m")
