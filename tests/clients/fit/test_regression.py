"""Quantiles of Student's t against scipy, printed tables and exact values."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from clients.fit.regression import t_quantile
from tests.rows import each_row

# NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.2 (upper critical values), read in
# copies of it that agree; the same figures: Journal of the American Statistical Association, 1959.
PRINTED = {
    1: ("3.078", "6.314", "12.706", "31.821", "63.657"),
    2: ("1.886", "2.920", "4.303", "6.965", "9.925"),
    3: ("1.638", "2.353", "3.182", "4.541", "5.841"),
    4: ("1.533", "2.132", "2.776", "3.747", "4.604"),
    5: ("1.476", "2.015", "2.571", "3.365", "4.032"),
    6: ("1.440", "1.943", "2.447", "3.143", "3.707"),
    7: ("1.415", "1.895", "2.365", "2.998", "3.499"),
    8: ("1.397", "1.860", "2.306", "2.896", "3.355"),
    9: ("1.383", "1.833", "2.262", "2.821", "3.250"),
    10: ("1.372", "1.812", "2.228", "2.764", "3.169"),
    20: ("1.325", "1.725", "2.086", "2.528", "2.845"),
    30: ("1.310", "1.697", "2.042", "2.457", "2.750"),
}
LEVELS = ("0.9", "0.95", "0.975", "0.99", "0.995")


@each_row("freedom", [*range(1, 41), 75, 200])
def test_it_is_scipys(freedom):
    for level in ("0.5", "0.6", "0.75", *LEVELS, "0.9999"):
        quantile = t_quantile(float(level), freedom)
        assert quantile == pytest.approx(stats.t.ppf(float(level), freedom), rel=1e-9, abs=1e-12)


def test_it_is_the_printed_table():
    for freedom, row in PRINTED.items():
        shown = tuple(f"{t_quantile(float(level), freedom):.3f}" for level in LEVELS)
        assert shown == row


def test_half_of_all_lie_below_nothing():
    for freedom in (1, 2, 3, 10, 41):
        assert abs(t_quantile(0.5, freedom)) < 1e-12


def test_one_degree_is_the_tangent():
    """Cauchy's distribution: at 3/4 the tangent of 45 degrees, 1 exactly."""
    assert abs(t_quantile(0.75, 1) - 1) < 1e-12


@given(st.integers(501, 999))
def test_two_degrees_are_a_root(share):
    """t² = 2 (2p - 1)² / (1 - (2p - 1)²), in exact fractions."""
    p = Fraction(share, 1000)
    quantile = Fraction(t_quantile(share / 1000, 2))
    wanted = 2 * (2 * p - 1) ** 2 / (1 - (2 * p - 1) ** 2)
    assert abs(quantile**2 / wanted - 1) < Fraction(1, 10**10)


@given(st.integers(500, 998), st.integers(1, 60))
def test_more_certain_is_wider_and_more_freedom_narrower(share, freedom):
    p = share / 1000
    assert t_quantile(p, freedom) < t_quantile(p + 0.001, freedom)
    if share > 500:
        assert t_quantile(p, freedom + 1) < t_quantile(p, freedom)


@pytest.mark.parametrize(("p", "freedom"), [(0.49, 3), (1, 3), (0.9, 0)])
def test_what_has_no_quantile_is_refused(p, freedom):
    with pytest.raises(ValueError, match="below 1 and one degree"):
        t_quantile(p, freedom)
