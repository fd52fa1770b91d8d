"""The list of measures and the places on the figure: what every row must have."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.fit.handbook import table
from clients.fit.measures import (
    AT_WAIST,
    MEASURES,
    Range,
    larger,
    places,
    spot_name,
    spots,
)
from clients.models import Measured
from tests.rows import each_row

LABELS = {"seen", "seen (2nd)", "derived", "common practice"}
# Items of ISO 8559 as a textbook on anthropometry and clothing sizes lists them (seen, 2nd): those
# that a studio takes, under the names of the list here.
ISO_8559 = {
    "shoulder", "across_back", "upper_arm", "arm_length", "bust_point_len", "back_waist",
    "front_waist", "crotch_depth", "waist_to_hip", "outseam", "inseam", "head", "neck", "neck_base",
    "bust", "wrist", "waist", "hip", "thigh", "knee", "calf", "ankle", "crotch_length", "height",
    # Of the list of 1989: shoulder width, seventh cervical to wrist, cervical height, armscye,
    # elbow and hand girth, trunk circumference, waist height.
    "shoulder_width", "cb_wrist", "nape_floor", "armhole", "elbow", "hand", "torso_loop",
    "waist_floor_front", "waist_floor_back",
}  # fmt: skip


def test_every_measure_is_named_once():
    rows = table("measures")
    assert len({row["key"] for row in rows}) == len(rows) == len(MEASURES)
    assert len({row["name"].casefold() for row in rows}) == len(rows)
    assert [measure.number for measure in MEASURES.values()] == list(range(1, len(rows) + 1))


def test_the_list_has_what_the_standard_lists():
    assert set(MEASURES) >= ISO_8559


def test_fifteen_are_usual():
    assert sum(measure.usual for measure in MEASURES.values()) == 15


@each_row("key", MEASURES)
def test_a_measure_says_what_it_is_and_who_says_so(key):
    measure = MEASURES[key]
    assert measure.range.low < measure.range.high
    assert measure.kind in {"girth", "width", "length"}
    assert measure.label in LABELS
    for words in (measure.definition, measure.landmark, measure.how, measure.source):
        assert words
        assert words == words.strip()
    assert (measure.source == "common practice") <= (measure.label == "common practice")


@each_row("row", table("measures"))
def test_a_row_has_a_cell_for_every_column(row):
    """A comma too many or too few would move the source into another column."""
    assert None not in row
    assert None not in row.values()
    assert row["sides"] in {"", "yes"}
    assert row["usual"] in {"", "yes"}


def test_a_key_fits_into_its_column():
    assert max(map(len, MEASURES)) <= Measured._meta.get_field("key").max_length


def test_what_begins_or_ends_at_the_waist_says_so():
    """The landmarks name the waist, or the cord that is tied round it."""
    named = {
        key
        for key, measure in MEASURES.items()
        if "cord at the waist" in measure.landmark.lower() or key == "waist"
    }
    # The landmark of the front length is the choice of where it begins; its "how" names the cord.
    assert named | {"front_waist"} == AT_WAIST


def test_every_measure_is_drawn_once_and_every_line_is_a_path():
    drawn = [*places("front"), *places("back")]
    assert sorted(place.measure.number for place in drawn) == [
        measure.number for measure in MEASURES.values()
    ]
    assert len(drawn) == len(table("figure"))
    number = r"-?\d+(\.\d+)?"
    path = re.compile(rf"M {number} {number}( ([LHVQ]( {number})+|{number}))*")
    for place in drawn:
        assert path.fullmatch(place.line), place.measure.key
        assert path.fullmatch(place.lead), place.measure.key
        assert re.fullmatch(number, place.x)
        assert re.fullmatch(number, place.y)


def test_no_two_numbers_of_a_view_lie_on_each_other():
    """The figure is 388 units high; a number needs ten of them."""
    for view in ("front", "back"):
        at = [(Decimal(place.x), Decimal(place.y)) for place in places(view)]
        for first, (x, y) in enumerate(at):
            for other_x, other_y in at[first + 1 :]:
                assert abs(x - other_x) >= 10 or abs(y - other_y) >= 10, (view, x, y)


def test_spots_are_the_measures_with_their_sides():
    sided = [key for key, measure in MEASURES.items() if measure.sided]
    listed = spots(MEASURES)
    assert len(set(listed)) == len(listed) == len(MEASURES) + 2 * len(sided)
    assert [key for key, side in listed if not side] == list(MEASURES)
    at = listed.index(("thigh", ""))
    assert listed[at : at + 3] == (("thigh", ""), ("thigh", "left"), ("thigh", "right"))
    assert ("height", "left") not in listed


@pytest.mark.parametrize(
    ("spot", "name"), [(("hip", ""), "Hip"), (("thigh", "left"), "Thigh, left")]
)
def test_a_spot_is_named_with_its_side(spot, name):
    assert spot_name(spot, MEASURES) == name


@given(
    st.dictionaries(
        st.sampled_from([("thigh", ""), ("thigh", "left"), ("thigh", "right"), ("knee", "")]),
        st.decimals(300, 900, places=1),
    )
)
def test_the_larger_side_counts(values):
    taken = [mm for (key, _), mm in values.items() if key == "thigh"]
    assert larger(values, "thigh") == (max(taken) if taken else None)


def test_the_ends_of_a_range_belong_to_it():
    usual = Range(Decimal(500), Decimal(640))
    assert Decimal(500) in usual
    assert Decimal(640) in usual
    assert Decimal("499.9") not in usual
    assert Decimal("640.1") not in usual
