"""Ease as published: the rows as printed, and that scales which disagree all stand."""

from decimal import Decimal

import pytest

from clients.fit.handbook import ANY, ease, length, table
from clients.fit.measures import MEASURES

LABELS = {"seen", "seen (2nd)", "common practice"}
INCH = Decimal("25.4")
ROWS = table("ease")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['garment']} {row['place']}")
def test_every_row_is_whole(row):
    low, high = length(row["low"]), length(row["high"])
    assert None not in row
    assert None not in row.values()
    assert row["place"] in MEASURES
    assert row["source"]
    assert row["label"] in LABELS
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
    found = [row.low / INCH for row in ease("dress", "hip") if "Encyclopaedia" in row.source]
    assert found == [3, 2]
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
