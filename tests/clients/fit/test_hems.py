"""Hems: published depths, finished lengths, turn-ups and letting down."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.fit import hems
from clients.fit.alterations import patch, taper
from clients.fit.skirts import band, elastic

INCH = Fraction(254, 10)


@pytest.mark.parametrize(
    ("garment", "weight", "least", "most"),
    [
        # American Sewing Guild, "How Deep is That Hem", 2025-09-12 (seen).
        ("skirt", "", 2, 3),
        ("skirt_flared", "", "1/4", "3/8"),
        ("trousers", "", 2, 2),
        ("jacket", "", "3/2", 2),
        ("dress", "", "3/2", 2),
        ("dress", "sheer", "1/2", "1/2"),
        ("womens_trousers", "", "5/8", "5/4"),
        ("blouse_in", "", "1/4", "1/2"),
        ("blouse_out", "", "3/8", "3/4"),
        ("shirt", "", "3/8", "5/8"),
        ("top", "", "3/4", "5/4"),
        ("pullover", "", "3/8", "5/4"),
        # The 4-H clothing bulletin on a cotton school dress (seen).
        ("skirt_flared", "medium", 2, 3),
        ("skirt_circle", "", "1/4", "1/4"),
    ],
)
def test_published_depths(garment, weight, least, most):
    first = hems.depths(garment, weight)[0]
    assert (first.least, first.most) == (Fraction(least) * INCH, Fraction(most) * INCH)
    assert Fraction(least) * INCH <= hems.usual_depth((first,)) <= Fraction(most) * INCH


def test_scales_that_disagree_both_stand():
    """Flared skirts: 1/4-3/8 in (American Sewing Guild) and 1 1/2 in (the 4-H bulletin)."""
    depths = hems.depths("skirt_flared")
    assert [depth.most for depth in depths] == [Decimal("9.525"), Decimal("38.1")]
    assert len({depth.source for depth in depths}) == 2


def test_a_bound_alone_is_the_usual_depth():
    """Dress of heavy cloth: over 2 in; straight skirt of sheer cloth: up to 4 in (both seen)."""
    assert hems.usual_depth(hems.depths("dress", "heavy")) == 2 * INCH
    assert hems.usual_depth(hems.depths("skirt", "sheer")) == 4 * INCH


def test_every_garment_has_a_name_and_a_depth():
    for garment, name in hems.hem_garments().items():
        assert name
        assert hems.usual_depth(hems.depths(garment)) > 0


def test_the_heel_lifts_and_the_floor_stays():
    """By hand: 104 cm from the waist to the floor, 8 cm heels, 2 cm off the floor."""
    assert hems.finished_length(1040, heel=80, above_floor=20) == 1100
    assert hems.finished_length(780, above_floor=30, extra=20) == 770
    with pytest.raises(ValueError, match="above the point"):
        hems.finished_length(100, above_floor=100)


def test_the_back_is_half_an_inch_longer():
    """Goodheart-Willcox, Apparel: Design, Textiles & Construction (2012), p. 459 (seen)."""
    sloped = hems.hem(780, 50, slope=INCH / 2)
    assert sloped.back - sloped.front == INCH / 2
    assert (sloped.back + sloped.front) / 2 == sloped.finished == 780


def test_a_turn_up_takes_its_height_twice():
    """2 x cuff + 3/4 in inside (common practice): 4 cm turned up asks for 8 cm and 3/4 in."""
    assert hems.hem(780, 50, turn_up=40).cut == 780 + 80 + Fraction(3, 4) * INCH
    assert hems.hem(780, 50).cut == 830


def test_a_uniforms_turn_up_is_2_inches_at_most():
    """US Army TM 10-227, p. 4-6 (seen)."""
    assert 2 * INCH <= hems.UNIFORM_TURN_UP < Fraction(9, 4) * INCH


def test_circle_hems_hang_a_day():
    """Trade page (seen, 2nd): 24 to 48 h."""
    assert hems.HANG_HOURS == (24, 48)


@pytest.mark.parametrize(
    ("by", "turned_up", "way", "depth"),
    [(30, 50, "hem", 20), (40, 50, "hem", 10), (42, 50, "faced", 8), (44, 50, "no", 6),
     (60, 50, "no", 0), (-20, 50, "hem", 50)],
)  # fmt: skip
def test_a_hem_is_no_deeper_than_the_cloth(by, turned_up, way, depth):
    """By hand: the cloth ends at the edge of now and what is turned up behind it."""
    hem = hems.hem(770 + by, 50, cloth=hems.cloth_end(770, turned_up))
    assert (hem.way, hem.allowance) == (way, depth)
    if way != "no":
        assert hem.cut == min(770 + by + 50, 770 + turned_up)
        assert hem.finished <= hem.longest


@given(
    st.integers(500, 1200), st.integers(0, 120), st.integers(-200, 150), st.integers(3, 120),
    st.integers(0, 40), st.integers(0, 60), st.booleans(),
)  # fmt: skip
def test_no_cut_line_leaves_the_cloth(now, turned_up, by, depth, slope, turn_up, faced):
    """The cloth's end is reckoned here on its own: front, side and back of the cut lie above it."""
    finished, end = now + by, now + turned_up
    try:
        hem = hems.hem(
            finished, depth, turn_up=turn_up, slope=slope, faced=faced,
            cloth=hems.cloth_end(now, turned_up),
        )  # fmt: skip
    except hems.NoTurnUpError:
        assert finished + Fraction(slope, 2) + 2 * turn_up + INCH / 2 > end
        return
    if hem.way != "no":
        assert hem.cut + Fraction(slope, 2) <= end
        return
    assert end - finished - Fraction(slope, 2) < INCH / 4


def test_a_turn_up_gives_way_inside_and_no_further():
    """By hand: 4 cm of turn-up take 8 cm and 1/2 to 3/4 in inside; 9.5 cm are there, then 9."""
    hem = hems.hem(770, 50, turn_up=40, cloth=865)
    assert (hem.allowance, hem.cut) == (95, 865)
    with pytest.raises(hems.NoTurnUpError):
        hems.hem(770, 50, turn_up=40, cloth=860)
    assert hems.highest_turn_up(90) == (90 - INCH / 2) / 2


def test_a_facing_asks_for_a_quarter_of_an_inch_and_is_cut_with_its_seams():
    """Common practice, by hand: 2 in deep round 40 in are 2 1/2 by 40 1/2 in."""
    assert hems.hem(800, 50, faced=True, cloth=807).allowance == INCH / 4
    strip = hems.facing(2 * INCH, 40 * INCH)
    assert (strip.high, strip.long) == (INCH * 5 / 2, INCH * 81 / 2)


def test_a_taper_takes_the_same_from_both_seams():
    """By hand: 20 to 16 cm flat at the hem is 8 cm round, 2 cm at each seam, 1 cm halfway."""
    leg = taper(knee=220, hem=200, new_knee=220, new_hem=160, knee_to_hem=440)
    assert [(place.now - place.then) / 2 for place in leg.places] == [0, 10, 20]
    assert [place.below_knee for place in leg.places] == [0, 220, 440]
    assert (leg.opening, leg.taken, leg.needs_spreading) == (320, 80, True)


@pytest.mark.parametrize(
    ("new_knee", "new_hem", "spread"), [(220, 185, False), (220, 184, True), (210, 160, False)]
)
def test_over_3_cm_is_spread(new_knee, new_hem, spread):
    """Trade page (seen, 2nd): a reduction over 3 cm is spread above and below the knee."""
    leg = taper(knee=220, hem=200, new_knee=new_knee, new_hem=new_hem, knee_to_hem=440)
    assert leg.needs_spreading is spread


def test_the_foot_has_to_pass():
    """New Mexico C-209 (seen): the instep, round the heel, limits a narrow hem."""
    leg = taper(knee=220, hem=200, new_knee=220, new_hem=165, knee_to_hem=440)
    assert leg.passes(330)
    assert not leg.passes(331)
    with pytest.raises(ValueError, match="only takes away"):
        taper(knee=220, hem=200, new_knee=221, new_hem=165, knee_to_hem=440)


@given(*[st.integers(80, 400)] * 4, st.integers(200, 600))
def test_a_tapered_seam_is_straight(knee, hem, less_knee, less_hem, down):
    new_knee, new_hem = max(knee - less_knee, 1), max(hem - less_hem, 1)
    leg = taper(knee=knee, hem=hem, new_knee=new_knee, new_hem=new_hem, knee_to_hem=down)
    first, middle, last = (place.now - place.then for place in leg.places)
    assert middle - first == last - middle


def test_a_rip_by_a_seam_is_sewn_and_a_patch_is_larger_all_round():
    """US Army TM 10-8400-201-23, the 3/4 in rule (seen; the sizes derived)."""
    assert not patch(2 * INCH, INCH, to_seam=INCH / 2).fusible
    cut = patch(2 * INCH, INCH, to_seam=INCH)
    assert (cut.width, cut.height, cut.fusible) == (INCH * 7 / 2, INCH * 5 / 2, True)


def test_a_band_has_its_overlap_and_two_allowances():
    """By hand: 72 cm, 1.5 cm of ease, 3 cm overlap, two allowances of 1.5 cm."""
    cut = band(720, ease=15, overlap=30, allowance=15)
    assert (cut.finished, cut.cut) == (735, 795)


def test_elastic_sits_a_tenth_inside_the_waist():
    """Common practice: 10 per cent shorter, 2 cm overlapped: 70 cm gives 63 + 2."""
    assert elastic(700) == 650
    with pytest.raises(ValueError, match="half"):
        elastic(700, shorter=Decimal(50))
