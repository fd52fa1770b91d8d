"""Cloth at another width: the published chart cell by cell, and what is added to it."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.fit.cloth import (
    STEPS,
    YARD,
    Addition,
    Asked,
    cloth_needed,
    column,
    columns,
    equivalent,
)
from tests.rows import each_row

INCH = Fraction(254, 10)

# Fabric-width conversion chart of the US extension services (seen, 2nd), as decimals of a yard.
CHART = {
    36: "1.75,2.0,2.25,2.5,2.875,3.125,3.375,3.75,4.25,4.5,4.75,5.0",
    39: "1.5,1.75,2.0,2.25,2.5,2.75,3.0,3.25,3.5,3.75,4.0,4.25",
    41: "1.5,1.75,2.0,2.25,2.5,2.75,2.875,3.125,3.375,3.625,3.875,4.125",
    45: "1.375,1.625,1.75,2.125,2.25,2.5,2.75,2.875,3.125,3.375,3.625,3.875",
    50: "1.25,1.5,1.625,1.75,2.0,2.25,2.375,2.625,2.75,3.0,3.25,3.375",
    54: "1.125,1.375,1.5,1.75,1.875,2.0,2.25,2.375,2.625,2.75,2.875,3.125",
    60: "1.0,1.25,1.375,1.625,1.75,1.875,2.0,2.25,2.375,2.625,2.75,2.875",
    66: "0.875,1.125,1.25,1.5,1.625,1.75,1.875,2.125,2.25,2.5,2.625,2.75",
}
PRINTED = {width: [Fraction(amount) for amount in row.split(",")] for width, row in CHART.items()}
WIDTHS = st.sampled_from(sorted(PRINTED))


def test_the_whole_chart_round_trips():
    """12 x 8 cells, from each column to each other: what is printed is what is answered."""
    assert {width: list(column(width).amounts) for width in PRINTED} == PRINTED
    for here, amounts in PRINTED.items():
        for there, others in PRINTED.items():
            amounts_there = [equivalent(amount, here, there).yards for amount in amounts]
            assert amounts_there == others, (here, there)


def test_the_chart_is_in_order():
    """Derived: columns rise, rows never rise with the width, every cell is in eighths."""
    amounts = list(columns().values())
    assert [len(printed) for printed in amounts] == [12] * 8
    for printed in amounts:
        assert list(printed) == sorted(set(printed))
        assert all((cell * 8).denominator == 1 for cell in printed)
    for row in zip(*amounts, strict=True):
        assert list(row) == sorted(row, reverse=True)


@pytest.mark.parametrize(
    ("amount", "here", "there", "yards"),
    [("1 3/4", 35, 58, "1"), ("2", 60, 44, "2 3/4"), ("2 1/8", 44, 50, "1 3/4"),
     ("2 1/8", 45, 53, "1 3/4")],
)  # fmt: skip
def test_cells_of_the_chart_by_any_width_of_their_column(amount, here, there, yards):
    charted = equivalent(mixed(amount), here, there)
    assert (charted.yards, charted.published, charted.larger) == (mixed(yards), True, False)


def mixed(text: str) -> Fraction:
    return sum(Fraction(part) for part in text.split())


def test_between_two_rows_the_larger_is_taken():
    charted = equivalent(Fraction("1.8"), 36, 45)
    assert (charted.yards, charted.larger) == (mixed("1 5/8"), True)


@pytest.mark.parametrize(
    ("amount", "here", "there"),
    [("1", 36, 60), ("5.1", 36, 60), ("2", 34, 60), ("2", 36, 83), ("2", 36, 67)],
)
def test_outside_the_chart_nothing_is_published(amount, here, there):
    assert equivalent(Fraction(amount), here, there) is None


def needed(**facts):
    question = {"amount": 2 * YARD, "width": 60 * INCH, "other": 54 * INCH} | facts
    return cloth_needed(Asked(**question), step=facts.pop("step", "1/8 yd"))


def test_the_chart_is_used_where_it_reaches():
    need = needed()
    assert need.charted
    assert need.total == mixed("2 1/4") * YARD
    assert [step.key for step in need.steps] == ["chart"]


def test_the_area_rule_elsewhere_says_so():
    """83 in wide cloth is in no chart: 2 x 60 / 83 = 1.446 yd, so 1 1/2 yd."""
    need = needed(other=83 * INCH)
    assert not need.charted
    assert [step.key for step in need.steps] == ["area", "rounding"]
    assert need.steps[0].amount == 120 * YARD / 83
    assert need.total == mixed("1 1/2") * YARD


def test_no_quarter_of_a_yard_comes_by_itself():
    """2 yd of 60 in are 2 3/4 yd of 44-45 in (the chart, seen 2nd), and back again 2 yd."""
    assert needed(other=45 * INCH).total == mixed("2 3/4") * YARD
    back = needed(amount=mixed("2 3/4") * YARD, width=45 * INCH, other=60 * INCH)
    assert (back.total, back.larger) == (2 * YARD, False)
    assert needed(other=36 * INCH).apart
    assert not needed(other=45 * INCH).apart


@each_row("width", [900, 1100, 1120, 1150, 1200, 1300, 1400, 1500, 2000])
@each_row("amount", [700, 1600, 2000, 4700])
def test_equal_widths_give_equal_lengths(width, amount):
    need = cloth_needed(Asked(amount, width, width, usable=width - 30), step="10 cm")
    assert need.steps[0] == Addition("same", Fraction(amount))
    assert need.total == -(-amount // 100) * 100


def test_widths_of_one_column_give_equal_lengths():
    assert needed(amount=mixed("1 9/16") * YARD, width=44 * INCH, other=45 * INCH).way == "same"


# Interpolated with NumPy's own routine between the printed columns.
BETWEEN = [1100, 1200, 1300, 1400]


@each_row("width", BETWEEN)
@each_row("row", range(12))
def test_metric_widths_lie_between_two_columns(width, row):
    inches = width / 25.4
    known = [36, 39, 41, 44, 45, 50, 52, 54, 58, 60, 66]
    at = [36, 39, 41, 45, 45, 50, 54, 54, 60, 60, 66]
    amounts = [float(PRINTED[column][row]) for column in at]
    wanted = np.interp(inches, known, amounts)
    charted = equivalent(PRINTED[60][row], 60, Fraction(width * 10, 254))
    assert not charted.published
    assert float(charted.yards) == pytest.approx(wanted)
    there = equivalent(charted.yards, Fraction(width * 10, 254), 60)
    assert (there.yards, there.larger) == (PRINTED[60][row], False)


@pytest.mark.parametrize(
    ("width", "printed"), [(900, 36), (1150, 45), (1500, 60), (1120, 45), (1370, 54)]
)
def test_metric_widths_of_a_printed_column(width, printed):
    """By hand, in inches: 35.4, 45.3, 59.1, 44.1 and 53.9, each to the nearest inch."""
    found = column(Fraction(width * 10, 254))
    assert (list(found.amounts), found.published) == (PRINTED[printed], True)


def test_every_reason_adds_a_quarter_of_a_yard():
    """The chart's own additions (seen, 2nd)."""
    need = needed(other=44 * INCH, one_way=True, cut_on_sleeves=True, far_apart=True)
    assert [(step.key, step.amount / YARD) for step in need.steps] == [
        ("chart", mixed("2 3/4")),
        ("one_way", Fraction(1, 4)),
        ("cut_on", Fraction(1, 4)),
        ("far_apart", Fraction(1, 4)),
    ]


def test_shrinkage_and_a_repeat_by_hand():
    """2 1/4 yd, a repeat of 9 in is 2 1/2; to have them after 20 %: 3 1/8 yd."""
    need = needed(repeat=9 * INCH, shrinks=Decimal(20))
    assert need.total == mixed("3 1/8") * YARD
    assert [step.key for step in need.steps] == ["chart", "repeat", "along"]


def test_shrinkage_across_asks_for_more_and_narrows_the_cloth():
    """By hand: 2 1/4 / 0.9 = 2 1/2 yd; 54 in x 0.9 = 48.6 in."""
    need = needed(shrinks_across=Decimal(10), widest=49 * INCH)
    assert need.total == mixed("2 1/2") * YARD
    assert need.usable == Fraction("48.6") * INCH
    assert need.fits is False
    assert needed(shrinks_across=Decimal(10), widest=48 * INCH).fits is True
    assert needed().fits is None


def test_metric_cloth_is_read_to_the_nearest_inch():
    """150 cm is 59.06 in, 115 cm 45.28 in; 2 m is 2.187 yd: row 8 gives 2 7/8 yd = 262.9 cm."""
    asked = Asked(amount=2000, width=1500, other=1150)
    need = cloth_needed(asked, step="5 cm")
    assert (need.charted, need.total) == (True, 2650)
    assert cloth_needed(asked, step="10 cm").total == 2700


def test_a_usable_width_that_was_measured_counts_for_the_area():
    need = cloth_needed(Asked(amount=1000, width=1400, other=2000, usable=1900), step="10 cm")
    assert need.steps[0].amount == Fraction(1000 * 1400, 1900)
    assert need.usable == 1900


def test_cloth_that_shrinks_by_half_is_refused():
    for shrinks in ({"shrinks": Decimal(50)}, {"shrinks_across": Decimal(-1)}):
        with pytest.raises(ValueError, match="shrinks by half"):
            needed(**shrinks)


@given(
    WIDTHS, WIDTHS, st.integers(300, 5000), st.integers(0, 20), st.integers(0, 20),
    st.sampled_from(sorted(STEPS)), st.booleans(),
)  # fmt: skip
def test_the_steps_add_up_and_the_sum_is_rounded_up(here, there, amount, along, across, step, nap):
    asked = Asked(
        amount=amount, width=here * INCH, other=there * INCH, one_way=nap,
        shrinks=Decimal(along), shrinks_across=Decimal(across),
    )  # fmt: skip
    need = cloth_needed(asked, step=step)
    assert sum(step.amount for step in need.steps) == need.total
    assert need.total % STEPS[step] == 0
    rounding = [step.amount for step in need.steps if step.key == "rounding"]
    assert all(0 < more < STEPS[step] for more in rounding)
    plain = cloth_needed(Asked(amount=amount, width=here * INCH, other=there * INCH), step=step)
    assert need.total >= plain.total
