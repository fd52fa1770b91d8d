"""The published limits, and that every row of the tables has its source or says it has none."""

from decimal import Decimal

import pytest

from clients.fit import cloth
from clients.fit.handbook import DATA, LENGTHS, PLACES, Advice, cloth_marks, passed, table

LABELS = {"seen", "seen (2nd)", "derived", "common practice"}
SOURCED = ["limits", "cloth_marks", "hem_depths", "breaks"]
INCH = Decimal("25.4")


@pytest.mark.parametrize("name", SOURCED)
def test_every_row_says_where_it_comes_from(name):
    for row in table(name):
        assert None not in row, row
        assert None not in row.values(), row
        assert row["label"] in LABELS, row
        assert row["source"] or row["label"] == "common practice", row


def test_every_table_is_read():
    names = {path.stem for path in DATA.glob("*.csv")}
    assert {*SOURCED, "fabric_chart"} <= names
    assert cloth.columns()


def test_every_place_of_the_form_but_elsewhere_has_a_limit():
    assert set(PLACES) - {"other"} <= {row["place"] for row in table("limits")}


@pytest.mark.parametrize(
    ("places", "way", "total", "words"),
    [
        # Trade pages (seen, 2nd) that disagree: over 3 in distorts, others stop at 2 in.
        (["trousers_waist"], "in", "3.25", ["over {3 in}", "about {2 in}", "to {4 cm}"]),
        (["trousers_waist"], "in", "3", ["about {2 in}", "to {4 cm}"]),
        (["trousers_waist"], "in", "2", ["to {4 cm}"]),
        (["trousers_waist"], "in", "1.5", []),
        # 1 in easily; under the arm up to 2 in.
        (["jacket_waist"], "out", "1", []),
        (["jacket_waist"], "out", "1.5", ["About {1 in}"]),
        (["jacket_waist"], "out", "2.25", ["About {1 in}", "{2 in} in total"]),
        # 1 cm a shoulder against 1/2 in a shoulder.
        (["jacket_shoulder"], "in", "0.9", ["{1 cm} a shoulder"]),
        (["jacket_shoulder"], "in", "1.1", ["{1 cm} a shoulder", "{1/2 in} a shoulder"]),
        # US Army TM 10-227: the seat always changes the crotch.
        (["trousers_seat"], "in", "0.5", ["crotch"]),
        (["rise"], "in", "0.5", ["{1 cm}"]),
        # B-1295: more than one size; the step of a size is 4 cm in EN 13402-3.
        (["any"], "out", "1.6", ["one size"]),
        (["any"], "out", "1.5", []),
        (["skirt_hem"], "shorten", "3", ["{7.5 cm}"]),
        (["skirt_hem"], "shorten", "2.9", []),
        (["any_hem"], "lengthen", "1", ["{3/4 in}"]),
        (["any_hem"], "lengthen", "0.75", []),
        (["trousers_hem"], "lengthen", "2.25", ["{2 in}"]),
    ],
)
def test_a_limit_speaks_beyond_it_and_not_before(places, way, total, words):
    found = passed(*places, way=way, total=Decimal(total) * INCH)
    assert len(found) == len(words)
    for caution, word in zip(found, words, strict=True):
        assert word in caution.says


@pytest.mark.parametrize("cloth", ["sheer", "knit", "leather", "fur"])
def test_old_stitches_show_where_the_trade_says_so(cloth):
    """A trade page (seen, 2nd): sheers, knits, leather and fur keep their stitch holes."""
    assert any(mark.label == "seen (2nd)" for mark in cloth_marks(cloth, "out"))


@pytest.mark.parametrize("cloth", ["suiting", "velvet", "satin", "denim"])
def test_other_marks_are_common_practice(cloth):
    assert [mark.label for mark in cloth_marks(cloth, "out")] == ["common practice"]
    assert cloth_marks(cloth, "in") == ()


def test_plain_cloth_shows_nothing():
    assert cloth_marks("woven", "out") == cloth_marks("", "out") == ()


def test_lengths_are_told_in_the_units_of_the_studio():
    """3 in are 7.62 cm (exact); what was published in the studio's unit stays as printed."""
    says = Advice("from {3 in} to {7.5 cm}")
    assert says.words("cm") == "from 7.6 cm to 7.5 cm"
    assert says.words("in") == "from 3 in to 2 15/16 in"


def test_no_length_of_the_tables_is_left_untold():
    for name in ("limits", "cloth_marks"):
        for row in table(name):
            assert not any(mark.isdigit() for mark in LENGTHS.sub("", row["says"])), row
