"""Buttons, pleats and gathers: hand computation, NumPy's spacing, and cloth folded step by step."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.fit import FitError, spacing

INCH = Fraction(254, 10)


@given(st.integers(2, 40), st.integers(0, 80), st.integers(0, 200), st.integers(300, 1500))
def test_buttons_are_as_evenly_spaced_as_numpy_does_it(count, top, bottom, length):
    row = spacing.buttons(length, count=count, top=top, bottom=bottom)
    wanted = np.linspace(top, length - bottom, count)
    assert np.allclose([float(place) for place in row.places], wanted)
    assert row.places[-1] == length - bottom


@given(st.integers(2, 20), st.integers(0, 80), st.integers(0, 200), st.integers(300, 1500),
       st.integers(1, 100))  # fmt: skip
def test_one_button_sits_exactly_where_it_is_wanted(count, top, bottom, length, share):
    last = length - bottom
    at = top + Fraction((last - top) * share, 100)
    if last <= top:
        return
    row = spacing.buttons(length, count=count, top=top, bottom=bottom, at=at)
    assert at in row.places
    assert row.places[0] == top
    gaps = {low - high for high, low in zip(row.places, row.places[1:], strict=False)}
    assert gaps == {row.apart}
    assert row.places[-1] <= last < row.places[-1] + row.apart


def test_buttons_by_hand():
    """60 cm, six buttons from 2 below the upper to 8 above the lower edge: 10 cm apart."""
    row = spacing.buttons(600, count=6, top=20, bottom=80)
    assert row.places == (20, 120, 220, 320, 420, 520)
    assert spacing.buttonhole(INCH * 3 / 4, INCH / 8) == INCH * 7 / 8
    assert spacing.beyond_centre(INCH / 2) == INCH / 2


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"count": 1, "top": 20, "bottom": 80}, "Two buttons"),
        ({"count": 6, "top": 300, "bottom": 300}, "no room"),
        ({"count": 6, "top": 20, "bottom": 80, "at": 20}, "between the first and the last"),
        ({"count": 6, "top": 20, "bottom": 80, "at": 521}, "between the first and the last"),
    ],
)
def test_buttons_without_room_are_refused(facts, says):
    with pytest.raises(FitError, match=says):
        spacing.buttons(600, **facts)


@given(st.integers(1, 60), st.integers(100, 3000), st.integers(1, 60), st.sampled_from([1, 2]))
def test_pleats_folded_step_by_step(count, finished, depth, folds):
    """The cloth is walked along: forward what is seen, then back and forth for every fold."""
    row = spacing.pleats(finished, count=count, depth=depth, folds=folds)
    at = walked = Fraction(0)
    for _ in range(count):
        for step in [Fraction(finished, count), *[Fraction(-depth), Fraction(depth)] * folds]:
            at, walked = at + step, walked + abs(step)
    assert (at, walked) == (finished, row.cloth)
    back = spacing.pleats_of(row.cloth, finished, count=count, folds=folds)
    assert (back.depth, back.visible) == (depth, row.visible)


@pytest.mark.parametrize(("folds", "depth"), [(1, 30), (2, 15)])
def test_full_pleats_take_three_times_the_cloth(folds, depth):
    """Pleats that just touch behind lie in three plies everywhere (common practice of kilts)."""
    row = spacing.pleats(720, count=24, depth=depth, folds=folds)
    assert (row.cloth, row.overlap) == (3 * 720, False)
    assert spacing.pleats(720, count=24, depth=depth + 1, folds=folds).overlap


def test_gathers_by_hand():
    """80 cm two and a half times as full are 2 m; of 140 cm cloth, 137 between its seams, two."""
    assert spacing.gathers(800, fullness=Fraction(5, 2)).cloth == 2000
    assert spacing.gathers_of(2000, 800).fullness == Fraction(5, 2)
    assert spacing.widths_of_cloth(2000, 1400, allowance=15) == 2
    assert spacing.widths_of_cloth(2740, 1400, allowance=15) == 2
    assert spacing.widths_of_cloth(2741, 1400, allowance=15) == 3


@pytest.mark.parametrize(
    "refused",
    [
        lambda: spacing.gathers_of(800, 800),
        lambda: spacing.pleats_of(800, 800, count=3, folds=1),
        lambda: spacing.pleats(800, count=0, depth=10, folds=1),
        lambda: spacing.widths_of_cloth(800, 30, allowance=15),
    ],
)
def test_what_cannot_be_folded_or_drawn_up_is_refused(refused):
    with pytest.raises(FitError):
        refused()
