"""Circle skirts and hems against arcs measured by numerical integration (scipy), not by formula."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from clients.fit.hems import circle_hem, flared
from clients.fit.skirts import PI, SHARES, circle_skirt, edge_below, radius

FULL, HALF, QUARTER = Fraction(1), Fraction(1, 2), Fraction(1, 4)


def arc(of_radius: float, share: float) -> float:
    """The length of a circle's arc: the integral of sqrt(x'^2 + y'^2) over its parameter."""
    length, _ = quad(
        lambda t: math.hypot(-of_radius * math.sin(t), of_radius * math.cos(t)),
        0, 2 * math.pi * share, limit=200,
    )  # fmt: skip
    return length


def measured_radius(waist: float, share: float) -> float:
    return brentq(lambda r: arc(r, share) - waist, 1e-6, 10 * waist)


def test_pi_by_machins_formula():
    """16 arctan(1/5) - 4 arctan(1/239), J. Machin 1706, summed in whole fractions."""

    def arctan(x: int) -> Fraction:
        return sum(Fraction((-1) ** k, (2 * k + 1) * x ** (2 * k + 1)) for k in range(40))

    assert abs(16 * arctan(5) - 4 * arctan(239) - PI) < Fraction(1, 10**49)


# 2 pi r on a trade page, which prints 4.13, 8.2 and 16.56 (derived).
@pytest.mark.parametrize(
    ("share", "inches"), [(FULL, "4.138"), (HALF, "8.276"), (QUARTER, "16.552")]
)
def test_the_radius_of_a_26_inch_waist(share, inches):
    assert round(radius(26, share), 3) == Fraction(inches)


def test_the_radius_of_a_110_cm_waist():
    assert round(radius(110, FULL), 3) == Fraction("17.507")


@pytest.mark.parametrize(("share", "hem"), [(FULL, "448.99"), (HALF, "260.50")])
def test_the_hem_of_a_72_cm_waist_60_cm_long(share, hem):
    """W + t L (derived)."""
    assert round(edge_below(72, 60, share), 2) == Fraction(hem)


@pytest.mark.parametrize(
    ("share", "less"), [(FULL, "31.416"), (HALF, "15.708"), (QUARTER, "7.854")]
)
def test_shortening_by_5_cm_shortens_the_hem(share, less):
    before = circle_hem(72, 60, share, depth=1)
    after = circle_hem(72, 60, share, depth=1, shorten=5)
    assert round(before.edge - after.edge, 3) == Fraction(less)


def test_two_cm_turned_up_on_a_full_circle_have_12_6_cm_too_much():
    """t d = 6.283 x 2 (derived)."""
    assert round(circle_hem(72, 60, FULL, depth=2).excess, 1) == Fraction("12.6")


@given(
    st.integers(400, 1600), st.integers(200, 1200), st.integers(3, 60),
    st.sampled_from([*SHARES]),
)  # fmt: skip
def test_edges_are_as_long_as_their_arcs(waist, length, depth, share):
    parts = Fraction(share)
    r = measured_radius(waist, float(parts))
    assert float(radius(waist, parts)) == pytest.approx(r, rel=1e-7)
    hem = circle_hem(waist, length, parts, depth=depth)
    assert float(hem.edge) == pytest.approx(arc(r + length, float(parts)), rel=1e-7)
    above = arc(r + length - depth, float(parts))
    assert float(hem.excess) == pytest.approx(arc(r + length, float(parts)) - above, abs=1e-3)


def test_a_hem_deeper_than_the_skirt_is_refused():
    with pytest.raises(ValueError, match="no skirt"):
        circle_hem(700, 100, FULL, depth=20, shorten=80)


def test_an_a_line_eases_the_difference_of_its_edges():
    """Laid flat 32 cm at the hem, 30 cm above it: the edges are 64 and 60 cm round."""
    eased = flared(320, 300)
    assert (eased.edge, eased.above, eased.excess) == (640, 600, 40)


@given(st.integers(300, 900), st.integers(150, 290), st.integers(10, 80), st.integers(300, 900))
def test_an_a_line_by_its_slant(hem, waist, depth, length):
    """A trapezoid by its corners: the width at any height is where the two sides are cut."""
    slope = (hem - waist) / 2 / length
    above = hem - 2 * depth * slope
    sides = [(-waist / 2, length), (waist / 2, length), (-hem / 2, 0), (hem / 2, 0)]
    at = depth / length
    left = sides[2][0] + (sides[0][0] - sides[2][0]) * at
    right = sides[3][0] + (sides[1][0] - sides[3][0]) * at
    eased = flared(hem, Fraction(above))
    assert float(eased.above) == pytest.approx(2 * (right - left))


@given(
    st.integers(500, 1400), st.integers(300, 1100), st.integers(1, 6), st.integers(5, 20),
    st.sampled_from([*SHARES]),
)  # fmt: skip
def test_a_skirt_is_sewn_to_its_waist(waist, length, seams, allowance, share):
    """The arc on the stitching line, less both allowances of every seam, is the waist again."""
    parts = Fraction(share)
    skirt = circle_skirt(
        waist, length, parts, seams=seams, allowance=allowance, hem_depth=10, width=1500
    )
    sewn = arc(float(skirt.stitching_radius), float(parts)) - 2 * allowance * seams
    assert sewn == pytest.approx(waist, abs=1e-3)
    assert skirt.stitching_radius - skirt.waist_radius == allowance
    hem = arc(float(skirt.stitching_radius) + length, float(parts)) - 2 * allowance * seams
    assert float(skirt.hem) == pytest.approx(hem, abs=1e-3)


@pytest.mark.parametrize(
    ("share", "width", "across", "rows"),
    [(FULL, 1500, 2, 2), (FULL, 1100, 1, 4), (HALF, 1500, 2, 1), (QUARTER, 1500, 2, 1),
     (Fraction(2), 1500, 2, 4), (Fraction(3, 4), 1500, 2, 2)],
)  # fmt: skip
def test_quarters_lie_in_squares(share, width, across, rows):
    """Counted on squared paper: quarters of 60 to 75 cm, one or two side by side."""
    skirt = circle_skirt(20, 595, share, seams=0, allowance=0, hem_depth=0, width=width)
    assert 595 < skirt.hem_radius < 613
    assert skirt.across == across
    assert skirt.cloth == rows * skirt.hem_radius


def test_cloth_too_narrow_for_a_quarter_is_told():
    skirt = circle_skirt(700, 900, FULL, seams=2, allowance=15, hem_depth=10, width=900)
    assert (skirt.across, skirt.cloth) == (0, None)


def test_a_waist_smaller_than_its_allowance_is_refused():
    with pytest.raises(ValueError, match="too small"):
        circle_skirt(10, 100, Fraction(2), seams=0, allowance=20, hem_depth=5, width=1500)
