"""The drawn figure: every measure has its place, and the drawing is sound."""

from xml.etree import ElementTree as ET

import pytest
from django.template.loader import render_to_string

from clients.fit.measures import MEASURES
from clients.sheets.figure import (
    ARM,
    HEIGHT,
    LEFT,
    SIDE,
    TOP,
    WIDTH,
    corners,
    curve,
    figures,
    mirrored,
    tape_on,
)
from tests.rows import each_row

SVG = "{http://www.w3.org/2000/svg}"


def drawn() -> list[ET.Element]:
    """Both views as an XML reader sees them; it refuses what is not well-formed."""
    text = render_to_string("clients/sheets/_figure.html", {"figures": figures()})
    return list(ET.fromstring(f"<both>{text}</both>"))  # noqa: S314 -- our own drawing


def test_every_measure_has_one_place_on_the_figure():
    shown = [mark.measure.key for figure in figures() for mark in figure.marks]
    assert sorted(shown) == sorted(MEASURES)


@each_row("key", MEASURES)
def test_the_picture_of_a_measure_holds_its_whole_tape(key):
    tape = tape_on(key)
    left, top, width, height = (float(number) for number in tape.box.split())
    for x, y in (corner for line in tape.laid for corner in corners(line)):
        assert left <= x <= left + width
        assert top <= y <= top + height
    assert MEASURES[key].name.lower() in tape.alt


def test_the_drawing_is_well_formed_and_names_every_number():
    views = drawn()
    assert [view.tag for view in views] == [f"{SVG}svg"] * 2
    numbers = [int(text.text) for view in views for text in view.iter(f"{SVG}text")]
    assert sorted(numbers) == [measure.number for measure in MEASURES.values()]


def test_nothing_in_the_drawing_is_style_or_script():
    """The pages allow neither, see the security policy in the settings."""
    tags = {element.tag.removeprefix(SVG) for view in drawn() for element in view.iter()}
    assert tags == {"svg", "title", "path", "ellipse", "text"}
    assert not any("style" in element.attrib for view in drawn() for element in view.iter())


def test_every_line_and_number_stays_in_the_picture():
    for figure in figures():
        lines = [*figure.outline, *(mark.line for mark in figure.marks)]
        lines += [line for mark in figure.marks for line in (mark.lead, *mark.tips)]
        for line in lines:
            words = line.replace("C", "L").replace("Z", "")
            for x, y in corners(words):
                assert LEFT < x < LEFT + WIDTH, line
                assert TOP < y < TOP + HEIGHT, line
        for mark in figure.marks:
            # Two figures of a number are together less than 22 units wide.
            far = mark.x + (22 if mark.anchor == "start" else -22)
            assert LEFT <= far <= LEFT + WIDTH, mark.measure.name


def test_lengths_and_widths_have_arrows_and_girths_none():
    marks = {mark.measure.key: mark for figure in figures() for mark in figure.marks}
    assert {key for key, mark in marks.items() if not mark.tips} == {
        key for key, measure in MEASURES.items() if measure.kind == "girth"
    }
    (top, bottom) = marks["height"].tips
    assert corners(top.replace("Z", ""))[1] == (-100, 12)
    assert corners(bottom.replace("Z", ""))[1] == (-100, 398)


def test_the_text_for_listeners_names_every_measure():
    alternatives = " ".join(figure.alt for figure in figures())
    for measure in MEASURES.values():
        assert f"{measure.number} {measure.name.lower()}" in alternatives


def test_a_curve_goes_through_its_points():
    """Catmull and Rom, A class of local interpolating splines, 1974: the line passes through every
    point, and at an inner one it runs along the line between its neighbours."""
    points = [(0.0, 0.0), (3.0, 6.0), (12.0, 6.0), (15.0, 0.0)]
    points_of_curve = corners(curve(points).replace("C", "L"))
    assert points_of_curve[::3] == points
    assert points_of_curve[2] == pytest.approx((1, 5))  # (3, 6) less a sixth of (12, 6)
    assert points_of_curve[4] == pytest.approx((5, 7))
    assert curve(mirrored(points)).count("-") > 0


def test_the_halves_of_the_figure_meet():
    assert ARM[-1] == SIDE[0]
    assert SIDE[-1][0] == 0


@pytest.mark.parametrize(
    ("line", "points"),
    [
        ("M 1 2 L 3 4", [(1, 2), (3, 4)]),
        ("M 1 2 H 5 V 9", [(1, 2), (5, 2), (5, 9)]),
        ("M 0 0 Q 1 1 2 0 L 2 5", [(0, 0), (1, 1), (2, 0), (2, 5)]),
    ],
)
def test_path_data_is_read_as_svg_defines_it(line, points):
    """Scalable Vector Graphics 2, section 9.3."""
    assert corners(line) == points
