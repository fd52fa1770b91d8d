"""What is published: rows as printed with their source; scales which disagree all stand."""

from decimal import Decimal

import pytest

from clients.fit import cloth
from clients.fit.handbook import (
    ANY,
    DATA,
    LENGTHS,
    PLACES,
    Advice,
    cloth_marks,
    ease,
    length,
    passed,
    table,
)
from clients.fit.measures import MEASURES
from tests.rows import each_row

EASE_LABELS = {"seen", "seen (2nd)", "common practice"}
INCH = Decimal("25.4")
ROWS = table("ease")


@each_row("row", ROWS)
def test_every_row_is_whole(row):
    low, high = length(row["low"]), length(row["high"])
    assert None not in row
    assert None not in row.values()
    assert row["place"] in MEASURES
    assert row["source"]
    assert row["label"] in EASE_LABELS
    assert low or high
    assert not (low and high) or low <= high


def test_no_scale_has_a_row_twice():
    keys = [(row["garment"], row["place"], row["case"], row["source"]) for row in ROWS]
    assert len(keys) == len(set(keys))


def inches(garment, place, source):
    """Case, low and high in inches, of the rows of one source."""
    return [
        (row.case, *(bound and bound / INCH for bound in (row.low, row.high)))
        for row in ease(garment, place)
        if row.source == source
    ]


@pytest.mark.parametrize(
    ("garment", "place", "source", "rows"),
    [
        # "Ease in Clothing", chapter 16 of a course of Central Washington University.
        ("bodice", "bust", "CWU 16", [("", "1.5", "2")]),
        ("dress", "waist", "CWU 16", [("", "0.75", "1")]),
        ("skirt", "waist", "CWU 16", [("", "0.5", "0.75")]),
        ("skirt", "hip", "CWU 16", [("", "2", "2.75")]),
        ("shirt", "bust", "CWU 16", [("fitted", "1.5", "2.5"), ("classic", None, "3")]),
        ("trousers", "waist", "CWU 16", [("", "0.5", "0.75"), ("men's", "0.75", "1")]),
        ("trousers", "thigh", "CWU 16", [("men's", "1", None)]),
        # US Army TM 10-227, page 3-11.
        ("coat", "waist", "TM 10-227", [("uniform", "4", "7")]),
        # New Mexico State University Extension, C-209: by the hip, under 36 and over 38 in.
        (
            "trousers", "crotch_depth", "C209, scan hard to read",
            [
                ("hip under 36 in", "0.5", "0.5"),
                ("hip from 36 to 38 in", "0.75", "0.75"),
                ("hip over 38 in", "1", "1"),
            ],
        ),
        # A trade column (seen, 2nd): close-fitting under 2 in, semi-fitted to 3 1/2 in.
        (
            "dress", "bust", "trade column",
            [("close-fitting", None, "2"), ("semi-fitted", "2", "3.5")],
        ),
    ],
)  # fmt: skip
def test_a_row_is_as_printed(garment, place, source, rows):
    expected = [(case, low and Decimal(low), high and Decimal(high)) for case, low, high in rows]
    assert inches(garment, place, source) == expected


def test_a_scale_in_centimetres_stays_in_them():
    """A trade page (seen, 2nd): a fitted woven bodice has 4 to 6 cm at the bust."""
    [row] = [row for row in ease("bodice", "bust") if row.source == "trade page in centimetres"]
    assert (row.low, row.high) == (40, 60)


def test_scales_that_disagree_all_stand():
    """Two scales of one encyclopaedia article (seen, 2nd): 3 in at the hip, and 2 in."""
    lows = [row.low / INCH for row in ease("dress", "hip") if "Encyclopaedia" in row.source]
    assert lows == [3, 2]
    semi = {
        (row.low / INCH, row.source) for row in ease("dress", "bust") if row.case == "semi-fitted"
    }
    assert semi == {(Decimal("4.125"), "pattern makers"), (2, "trade column")}


def test_the_garment_itself_comes_before_every_garment():
    garments = [row.garment for row in ease("trousers", "hip")]
    assert garments == sorted(garments, key=[*dict.fromkeys(garments)].index)
    assert garments[0] == "trousers"
    assert garments[-1] == ANY


@pytest.mark.parametrize("case", ["fitted", "semi-fitted", "loose-fitting"])
def test_a_coat_goes_over_a_jacket_and_a_jacket_over_a_dress(case):
    """The classes of pattern makers (common practice): each layer begins and ends higher."""
    dress, jacket, coat = (
        next(row for row in ease(garment, "bust") if row.case == case and row.garment == garment)
        for garment in ("dress", "jacket", "coat")
    )
    assert dress.low < jacket.low < coat.low
    assert dress.high < jacket.high < coat.high


def test_where_nothing_is_published_there_is_nothing():
    assert ease("dress", "head") == ()


LABELS = {"seen", "seen (2nd)", "derived", "common practice"}
SOURCED = ["limits", "cloth_marks", "hem_depths", "breaks"]


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
    advice = passed(*places, way=way, total=Decimal(total) * INCH)
    assert len(advice) == len(words)
    for caution, word in zip(advice, words, strict=True):
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
