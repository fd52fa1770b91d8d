"""Which drawing a garment has and where its work is marked, against the starting price list."""

import csv
import re
from pathlib import Path

import pytest

from studio.shop.look.colours import DYES, PLAIN, contrast, dye, luminance
from studio.shop.look.garments import KINDS, MARKED, PLACES, draw, drawing_of, place_of
from tests.rows import each_row

HOUSE = Path(__file__).parents[4]
SPRITE = HOUSE / "studio/shop/static/studio/garments.svg"
SYMBOLS = set(re.findall(r'<symbol id="([^"]+)"', SPRITE.read_text()))
LIST = list(csv.DictReader((HOUSE / "fixtures/prices.csv").read_text().splitlines()))


def test_there_is_a_drawing_for_every_name_and_marks_for_every_drawing():
    drawn = {name for name, _ in KINDS} | {"other"}
    assert drawn == SYMBOLS == set(PLACES)
    assert {place for places in PLACES.values() for place in places} <= set(MARKED)


def test_no_garment_of_the_starting_list_but_the_last_is_unknown():
    kinds = {row["garment"]: drawing_of(row["garment"]) for row in LIST}
    assert [kind for kind, drawing in kinds.items() if drawing == "other"] == ["Other"]
    # The night clothes have a drawing of their own; no two other kinds share one.
    assert len(set(kinds.values())) == len(kinds)


def test_all_work_of_the_starting_list_is_marked_somewhere():
    unmarked = {
        row["operation"]
        for row in LIST
        if place_of(row["operation"]) not in PLACES[drawing_of(row["garment"])]
    }
    assert unmarked == {"Look over and send to the maker", "Work by the hour"}


@pytest.mark.parametrize(
    ("kind", "drawing"),
    [
        ("Shirt dress", "dress"),
        ("Dressing gown", "night"),
        ("Christening gown", "gown"),
        ("Denim jacket", "jacket"),
        ("Raincoat", "coat"),
        ("T-shirt", "shirt"),
        ("Three-piece suit", "jacket"),
        ("Swimsuit", "jumpsuit"),
        ("Stage costume", "other"),
        ("", "other"),
    ],
)
def test_a_garment_is_known_by_its_words(kind, drawing):
    assert drawing_of(kind) == drawing


@pytest.mark.parametrize(
    ("work", "order", "place"),
    [
        ("Hem of lining", 40, "lining"),
        ("Shorten sleeves, vent and buttons", 20, "cuffs"),
        ("Take in side seams, lined", 10, "sides"),
        ("Buttonhole", 60, "button"),
        ("Kürzen", 40, "hem"),
        ("Bündchen", 20, "cuffs"),
        ("Something new", 0, ""),
    ],
)
def test_work_lies_where_its_words_or_the_order_of_work_put_it(work, order, place):
    assert place_of(work, order) == place


def test_a_drawing_says_in_words_what_it_shows():
    drawing = draw("Skirt", "plum", [("Hem", 40), ("Replace zip", 30), ("Hem, lined", 40)])
    assert (drawing.symbol, drawing.dye, drawing.known) == ("skirt", "#75425f", True)
    assert drawing.words == "Skirt, plum; marked: hem, zip"
    assert drawing.marks == PLACES["skirt"]["hem"] + PLACES["skirt"]["zip"]


def test_a_colour_that_nobody_said_is_plain_cloth():
    drawing = draw("Skirt", "as in the photo")
    assert (drawing.dye, drawing.known, drawing.words) == (PLAIN, False, "Skirt, as in the photo")


@each_row("colour", sorted(DYES))
def test_stitches_stand_out_from_every_dye(colour):
    """WCAG 2.2, 1.4.11: at least 3 to 1 for what one has to see."""
    drawing = draw("Skirt", colour, [("Hem", 40)])
    assert contrast(drawing.thread, drawing.dye) >= 3


def test_contrast_is_that_of_the_standard():
    """The ends of the scale, and mid grey as published for #767676 on white: 4.54."""
    assert contrast("#000000", "#ffffff") == 21
    assert round(contrast("#767676", "#ffffff"), 2) == 4.54
    assert (luminance("#000000"), round(luminance("#ffffff"), 9)) == (0, 1)


@pytest.mark.parametrize(
    ("words", "colour"),
    [
        ("navy blue", DYES["navy"]),
        ("bottle green, faded", DYES["bottle green"]),
        ("Ivory", DYES["ivory"]),
        ("tangled", ""),
        ("light blue", "#8ba1c0"),  # 35 of 100 towards white by hand: 77+62, 110+51, 158+34.
        ("dark grey", "#686a6c"),  # 30 of 100 towards black by hand: 148-44, 151-45, 155-47.
    ],
)
def test_colours_are_known_by_their_words(words, colour):
    assert dye(words) == colour
