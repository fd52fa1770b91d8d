"""Minutes by size against numpy and scipy, which know nothing of the program."""

from decimal import Decimal
from fractions import Fraction
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from clients.fit.minutes import FEWEST, TimedHem, hem_size, size_line
from tests.rows import each_row


def hems(*pairs) -> list[TimedHem]:
    return [TimedHem(Fraction(size), Fraction(minutes)) for size, minutes in pairs]


def drawn(dice: Random, n: int) -> list[TimedHem]:
    """Hems of 0.5 to 12 m that take about 12 minutes and 14 a metre, give or take a fifth."""
    sizes = [Fraction(dice.randrange(50, 1200), 100) for _ in range(n)]
    return [
        TimedHem(size, Fraction(round((12 + 14 * float(size)) * dice.uniform(0.8, 1.2))))
        for size in sizes
    ]


def columns(rows) -> tuple[np.ndarray, np.ndarray]:
    return (
        np.array([float(hem.size) for hem in rows]),
        np.array([float(hem.minutes) for hem in rows]),
    )


@each_row("luck", range(20))
def test_the_line_and_its_errors_are_those_of_numpy_and_scipy(luck):
    dice = Random(luck)  # noqa: S311 -- a test needs the same luck every time
    rows = drawn(dice, dice.randrange(8, 40))
    x, y = columns(rows)
    line = size_line(rows)
    reference = stats.linregress(x, y)
    assert float(line.line.slope) == pytest.approx(reference.slope)
    assert float(line.line.at(Fraction(0))) == pytest.approx(reference.intercept)
    by_line, by_median = [], []
    for out in range(len(rows)):
        others = np.arange(len(rows)) != out
        slope, start = np.polyfit(x[others], y[others], 1)
        by_line.append(abs(y[out] - start - slope * x[out]))
        by_median.append(abs(y[out] - np.median(y[others])))
    assert float(line.error) == pytest.approx(np.mean(by_line))
    assert float(line.median_error) == pytest.approx(np.mean(by_median))
    assert line.believed is bool(np.mean(by_line) < np.mean(by_median) and reference.slope > 0)


@each_row("luck", range(20))
def test_the_interval_is_the_textbooks_for_one_new_observation(luck):
    dice = Random(luck)  # noqa: S311 -- a test needs the same luck every time
    n = dice.randrange(8, 33)
    rows = drawn(dice, n)
    x, y = columns(rows)
    size = Fraction(dice.randrange(50, 2000), 100)
    guess = size_line(rows).guess(size)
    # The design-matrix form: s^2 (1 + x0' (X'X)^-1 x0), another way than the one in the program.
    design = np.column_stack([np.ones(n), x])
    coefficients, squares, *_ = np.linalg.lstsq(design, y, rcond=None)
    new = np.array([1, float(size)])
    variance = squares[0] / (n - 2) * (1 + new @ np.linalg.inv(design.T @ design) @ new)
    half = stats.t.ppf(0.9, n - 2) * np.sqrt(variance)
    assert guess.minutes == pytest.approx(new @ coefficients, abs=0.501)
    assert guess.give == pytest.approx(half, abs=0.52)
    assert guess.most - guess.minutes == guess.give
    assert guess.beyond is bool(not x.min() <= float(size) <= x.max())


def test_four_of_five_new_hems_fall_inside():
    """What the interval promises, counted: noise is normal, as the textbook supposes."""
    dice = Random(5)  # noqa: S311 -- a test needs the same luck every time
    inside = 0
    for _ in range(400):
        rows = [
            TimedHem(size, Fraction(12 + 14 * size) + Fraction(dice.gauss(0, 20)))
            for size in (Fraction(dice.randrange(50, 1200), 100) for _ in range(10))
        ]
        guess = size_line(rows).guess(Fraction(6))
        took = 12 + 14 * 6 + dice.gauss(0, 20)
        inside += guess.minutes - guess.give <= took <= guess.most
    # 400 throws at 0.8 have a deviation of 8; three of them are 24.
    assert abs(inside - 320) <= 24


def test_two_sizes_on_a_line_are_met_exactly():
    """Two stopwatch points, the second twice as large: 10 + 20 a metre."""
    line = size_line(hems((1, 30), (1, 30), (2, 50), (2, 50)))
    assert (line.line.at(Fraction(0)), line.line.slope, line.line.variance) == (10, 20, 0)
    assert line.error == 0
    guess = line.guess(Fraction(3, 2))
    assert (guess.minutes, guess.give, guess.beyond) == (40, 0, False)


def test_seven_hems_are_too_few_and_eight_are_enough():
    rows = hems(*((size, 10 + 20 * size) for size in range(1, 9)))
    assert FEWEST == 8
    assert not size_line(rows[:7]).believed
    assert size_line(rows).believed


def test_where_size_says_nothing_the_median_stays():
    rows = hems((1, 30), (2, 31), (3, 29), (4, 30), (5, 31), (6, 29), (7, 30), (8, 30))
    assert not size_line(rows).believed


def test_larger_hems_that_took_less_are_not_believed():
    rows = hems(*((size, 200 - 20 * size) for size in range(1, 9)))
    line = size_line(rows)
    assert line.error < line.median_error
    assert not line.believed
    assert line.guess(Fraction(12)) is None


@pytest.mark.parametrize(
    "rows",
    [
        [],
        hems((1, 30), (2, 40)),
        hems(*[(2, 30 + n) for n in range(9)]),  # all of one size
        hems(*[(2, 30 + n) for n in range(9)], (5, 90)),  # the slope rests on one hem
    ],
)
def test_no_line_where_none_can_be_checked(rows):
    assert size_line(rows) is None


def test_the_size_of_three_layers_of_four_metres_twenty():
    assert hem_size(Decimal(4200), 3) == Fraction(126, 10)
    assert hem_size(Decimal("1587.5"), 1) == Fraction(15875, 10_000)


rows_of_any_size = st.lists(
    st.tuples(st.integers(1, 400), st.integers(1, 600)), min_size=3, max_size=30
)


@given(rows_of_any_size, st.integers(2, 9))
def test_other_units_of_length_change_no_minute(pairs, factor):
    line, other = size_line(hems(*pairs)), size_line(hems(*((x * factor, y) for x, y in pairs)))
    if line is None:
        assert other is None
    else:
        assert line.guess(Fraction(100)) == other.guess(Fraction(100 * factor))
        assert (line.error, line.believed) == (other.error, other.believed)
