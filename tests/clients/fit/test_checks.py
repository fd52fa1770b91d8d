"""What is asked about a sheet, and what is not: each rule on both sides of its limit.

Limits are common practice unless a source stands beside them.
"""

from datetime import date
from decimal import Decimal
from itertools import pairwise

import pytest

from clients.fit.changes import Taking
from clients.fit.checks import child_ranges, doubts
from clients.fit.handbook import table
from clients.fit.lengths import parse_length
from clients.fit.measures import MEASURES, Range
from tests.rows import each_row

# First and ninety-ninth percentiles in mm, women and men, of the US Army survey of 2012
# (NATICK/TR-15/007), recomputed in a public repository (seen, 2nd).
SURVEY = {
    "hip": ("867", "1206.3", "861.8", "1218"),
    "wrist": ("138", "174", "156", "198"),
    "calf": ("312.7", "452", "329.8", "467"),
    "ankle": ("185", "255", "198", "268"),
}
PERCENTILES = [(key, mm) for key, values in SURVEY.items() for mm in values]
# Limits of the bust intervals of EN 13402-3:2005 (manual page of bustSizesStandard).
BUSTS = [row["low"] for row in table("bust_intervals")] + ["131"]


def taken(*lines, unit="cm", waist_at="natural", front_from="neck_side", day=date(2026, 3, 2)):
    """A sheet of lines such as ``hip: 96`` or ``thigh left: 58 cm``."""
    lengths = {}
    for line in lines:
        spot, typed = line.split(": ")
        key, _, side = spot.partition(" ")
        lengths[key, side] = parse_length(typed, unit)
    return Taking(day, lengths, waist_at, front_from)


def asked(*lines, unit="cm", ranges=None, before=None, day=date(2026, 3, 2), **more):
    where = {name: more.pop(name) for name in ("waist_at", "front_from") if name in more}
    sheet = taken(*lines, unit=unit, day=day, **where)
    return doubts(sheet, unit=unit, ranges=ranges or {}, before=[before] if before else [], **more)


def kinds(*lines, **more):
    return [doubt.kind for doubt in asked(*lines, **more)]


def body(*lines, **more):
    """The measures of each question about how they stand to each other."""
    return [
        {key for key, _ in doubt.spots} for doubt in asked(*lines, **more) if doubt.kind == "body"
    ]


@pytest.mark.parametrize(("key", "mm"), PERCENTILES)
def test_nobody_between_the_percentiles_of_a_survey_is_asked(key, mm):
    assert kinds(f"{key}: {mm} mm") == []


@pytest.mark.parametrize("bust", BUSTS)
def test_no_bust_of_the_size_table_is_asked(bust):
    assert kinds(f"bust: {bust}") == []


@pytest.mark.parametrize("mm", SURVEY["hip"])
def test_a_hip_in_the_other_unit_is_told_by_its_size(mm):
    """From the percentiles above: 34 to 48 in and 86 to 122 cm have no number in common."""
    inches = str(round(Decimal(mm) / Decimal("25.4")))
    assert kinds(f"hip: {inches}", unit="cm") == ["unit"]
    assert kinds(f"hip: {inches}", unit="in") == []
    centimetres = str(round(Decimal(mm) / 10))
    assert kinds(f"hip: {centimetres}", unit="in") == ["unit"]
    assert kinds(f"hip: {centimetres}", unit="cm") == []


@pytest.mark.parametrize(
    ("unit", "typed", "named", "other"),
    [
        ("cm", "38", "unlikely in centimetres, usual in inches", "38 in"),
        ("in", "96", "unlikely in inches, usual in centimetres", "96 cm"),
        ("mm", "96", "unlikely in millimetres, usual in centimetres", "96 cm"),
    ],
)
def test_a_mixed_up_unit_is_named(unit, typed, named, other):
    """An inch is 2.54 cm exactly: 38 in are 96.5 cm, within the percentiles above."""
    [doubt] = asked(f"hip: {typed}", unit=unit)
    assert (doubt.kind, doubt.spots) == ("unit", (("hip", ""),))
    assert doubt.says.startswith(f"Hip {typed}: {named}. ")
    assert doubt.says.endswith(f", write {other}.")


@pytest.mark.parametrize(("typed", "inches"), [("59", "149.9"), ("7", "17.8")])
def test_another_unit_is_offered_only_where_it_is_usual(typed, inches):
    """By hand: 59 in are 149.9 cm, 7 in 17.8 cm, both beyond the range of a waist as well."""
    assert Decimal(typed) * Decimal("2.54") == pytest.approx(Decimal(inches), abs=Decimal("0.1"))
    [doubt] = asked(f"waist: {typed}", "hip: 96", before=taken("waist: 72"))
    assert (doubt.kind, doubt.instead) == ("range", ())
    assert doubt.says.startswith(f"Waist {typed} cm: usually 60 to ")


def test_a_unit_written_down_is_believed():
    assert kinds("hip: 38 in", unit="cm") == kinds("hip: 96 cm", unit="in") == []


@pytest.mark.parametrize("key", ["bust", "waist", "hip"])
def test_under_sixty_centimetres_is_probably_inches(key):
    """The first percentile of the hip is 86 cm, see above. 54 in are 137.2 cm, 59.9 in 152.1."""
    assert kinds(f"{key}: 54") == ["unit"]
    assert kinds(f"{key}: 59.9") == ["range"]
    assert kinds(f"{key}: 60 cm") == ([] if key == "waist" else ["range"])


def test_a_small_waist_read_in_inches_is_not_asked():
    """23 in are 58.4 cm."""
    assert kinds("waist: 23", unit="in") == []


def test_the_owners_range_ends_the_question():
    ranges = {"waist": Range(Decimal(400), Decimal(1500))}
    assert kinds("waist: 58", ranges=ranges) == []
    assert kinds("waist: 39", ranges=ranges) == ["unit"]
    assert kinds("waist: 151", ranges=ranges) == ["range"]


def test_a_sheet_in_the_other_unit_is_one_question():
    [doubt] = asked("bust: 92", "waist: 72", "hip: 96", "height: 170 cm", unit="in")
    assert doubt.spots == (("bust", ""), ("waist", ""), ("hip", ""))
    assert doubt.says.startswith("Bust or chest 92, Waist 72, Hip 96: unlikely in inches")


def test_a_value_in_the_wrong_unit_is_compared_with_nothing():
    """Neither with the waist, which it is smaller than, nor with the last sheet."""
    before = taken("hip: 96", "waist: 72")
    assert kinds("hip: 38", "waist: 72", before=before) == ["unit"]


@pytest.mark.parametrize(
    ("inside", "outside", "says"),
    [
        ("hip: 150", "hip: 150.1", "Hip 150.1 cm: usually 78 to 150."),
        ("hip: 78", "hip: 77.9", "Hip 77.9 cm: usually 78 to 150."),
        ("calf left: 50", "calf left: 50.1", "Calf, left 50.1 cm: usually 28 to 50."),
        ("front_waist: 56", "front_waist: 56.1", "Front length 56.1 cm: usually 36 to 56."),
    ],
)
def test_a_range_asks_beyond_it(inside, outside, says):
    assert asked(inside) == []
    assert [doubt.says for doubt in asked(outside)] == [says]


def test_a_range_is_told_in_the_unit_of_the_studio():
    """150 cm are 59.06 in, 78 cm 30.71 in: to the nearest sixteenth 59 1/16 and 30 11/16."""
    [doubt] = asked("hip: 60", unit="in")
    assert doubt.says == "Hip 60 in: usually 30 11/16 to 59 1/16."


def test_a_front_length_from_the_nape_has_no_range():
    """US Coast Guard M1020.6G, page 6-7, begins at the nape; the range is one from the side."""
    assert kinds("front_waist: 60", front_from="nape") == []


def test_where_the_waist_was_taken_is_asked():
    """ISO 8559-1 knows two: half way between rib and hip bone, and where a belt settles."""
    assert kinds("waist: 72", "outseam: 104", waist_at="natural") == []
    [doubt] = asked("waist: 72", "outseam: 104", "hip: 96", waist_at="")
    assert (doubt.kind, doubt.spots) == ("level", (("waist", ""), ("outseam", "")))
    assert kinds("hip: 96", waist_at="") == []


def test_where_the_front_length_begins_is_asked():
    """Nape after US Coast Guard M1020.6G, side of the neck with many tailors."""
    assert kinds("front_waist: 44", front_from="") == ["level"]
    assert kinds("front_waist: 44", front_from="neck_side") == []


@each_row(
    ("fits", "asks"),
    [
        # By definition: the bust is the largest girth there, the outside leg goes on to the floor.
        ("high_bust: 92, bust: 92", "high_bust: 92.1, bust: 92"),
        ("underbust: 91.9, bust: 92", "underbust: 92, bust: 92"),
        ("inseam: 88, outseam: 88.1", "inseam: 88, outseam: 88"),
        ("waist_to_hip: 20, outseam: 104", "waist_to_hip: 104, outseam: 104"),
        # Geometry: through the legs goes down and up again, the back is half of the girth.
        ("crotch_length: 60.1, crotch_depth: 30", "crotch_length: 60, crotch_depth: 30"),
        ("across_back: 46, bust: 92.1", "across_back: 46, bust: 92"),
        ("neck: 38, neck_base: 38.1", "neck: 38, neck_base: 38"),
        # Survey means, common practice.
        ("waist: 100, hip: 100", "waist: 100.1, hip: 100"),
        ("knee: 45, thigh: 45.1", "knee: 45, thigh: 45"),
        ("calf: 45, thigh: 45.1", "calf: 45, thigh: 45"),
        ("ankle: 29, calf: 29.1", "ankle: 29, calf: 29"),
        ("wrist: 22, upper_arm: 22.1", "wrist: 22, upper_arm: 22"),
        # ISO 8559: rise = waist height less crotch height; 4 cm either way are common practice.
        (
            "outseam: 106, inseam: 78, crotch_depth: 24",
            "outseam: 106.1, inseam: 78, crotch_depth: 24",
        ),
        (
            "outseam: 98, inseam: 78, crotch_depth: 24",
            "outseam: 97.9, inseam: 78, crotch_depth: 24",
        ),
        # Shares of a height of 170 cm: 42-50, 31-38 and 22-29 hundredths, common practice.
        ("inseam: 71.4, height: 170", "inseam: 71.3, height: 170"),
        ("inseam: 85, height: 170", "inseam: 85.1, height: 170"),
        ("arm_length: 52.7, height: 170", "arm_length: 52.6, height: 170"),
        ("arm_length: 64.6, height: 170", "arm_length: 64.7, height: 170"),
        ("back_waist: 37.4, height: 170", "back_waist: 37.3, height: 170"),
        ("back_waist: 49.3, height: 170", "back_waist: 49.4, height: 170"),
    ],
)
def test_measures_are_compared_with_each_other(fits, asks):
    keys = {line.split(": ")[0] for line in asks.split(", ")}
    assert body(*fits.split(", ")) == []
    assert body(*asks.split(", ")) == [keys]


def test_the_larger_side_is_compared():
    assert body("calf left: 46", "calf right: 45", "thigh: 46") == [{"calf", "thigh"}]
    assert body("calf left: 44", "calf right: 45", "thigh: 46") == []


def test_sides_that_differ_by_more_than_two_centimetres_are_asked():
    assert asked("thigh left: 58", "thigh right: 60") == []
    [doubt] = asked("thigh left: 58", "thigh right: 60.1")
    assert doubt.spots == (("thigh", "left"), ("thigh", "right"))
    assert doubt.says == "Thigh: left and right differ by more than 2 cm (3/4 in)."


def test_a_girth_that_changed_by_more_than_five_centimetres_is_asked():
    before = taken("hip: 96")
    for typed, expected in [("101", []), ("101.1", ["change"]), ("91", []), ("90.9", ["change"])]:
        assert kinds(f"hip: {typed}", before=before) == expected
    [doubt] = asked("hip: 102", before=before)
    assert (
        doubt.says == "Hip +6 cm since the last sheet: if that is right, fit again before cutting."
    )


def test_a_child_is_not_asked_as_an_adult():
    """Size 116 of the European children's sizes, by height: chest 60, waist 55, hip 64.

    All from memory, the legs by the same tables.
    """
    body = ("height: 116", "bust: 60", "waist: 55", "hip: 64", "inseam: 52", "outseam: 70")
    assert len(asked(*body)) > 3
    assert asked(*body, child=True) == []
    assert kinds("hip: 28", child=True) == ["unit"]
    assert kinds("hip: 64", "inseam: 80", "outseam: 70", child=True) == ["body"]


# By years since that of birth: the 3rd percentile of both sexes at the birthday before, the median
# of girls, and the 97th percentile a day before the next birthday; the CDC's table.
# Under two: the same percentiles of length at birth and on the first birthday, the WHO's table.
STATURE = (
    (0, "45.6", "63.9", "80.2"), (2, "69.2", "86.4", "102.0"),
    (4, "86.37", "100.4", "117.2"), (8, "111.4", "127.4", "145.1"),
    (12, "130.3", "151.2", "170.6"), (16, "149.7", "162.6", "188.5"),
)  # fmt: skip


@each_row(("years", "low", "median", "high"), STATURE)
def test_a_child_is_asked_by_its_age(years, low, median, high):
    """Whatever the day of its birth within the year, and not 3 cm beyond."""
    usual = child_ranges(years)
    for height in (low, median, high):
        assert Decimal(height) * 10 in usual["height"]
    assert Decimal(low) * 10 - 30 not in usual["height"]
    assert Decimal(high) * 10 + 30 not in usual["height"]
    assert all(own.low <= own.high for own in usual.values())


# US children of 2 to 18: the 10th and 90th percentile of the waist, boys or girls whichever is
# further out (Fernández and others, 2004).
WAISTS = (
    (2, "43.2", "52.2"), (5, "48.4", "61.4"), (8, "53.2", "71.2"), (11, "57.9", "81.4"),
    (14, "62.6", "91.6"), (17, "67.3", "101.8"),
)  # fmt: skip
# Size 80 of the European children's sizes, by height, at one year: chest 49, waist 48, hip 50, head
# 48, neck 24, wrist 12 (from memory); the head's 3rd and 97th percentile, WHO, at birth 31.7, 36.8.
BABY = ("height: 80", "bust: 49", "waist: 48", "hip: 50", "head: 48", "neck: 24", "wrist: 12",
        "arm_length: 27", "back_waist: 21", "shoulder_width: 21", "inseam: 29",
        "thigh: 29")  # fmt: skip


def test_the_girths_of_a_child_end_where_its_age_does():
    """A value of usual children is asked about at no age, one of adults at each but the last."""
    girths = {key for key, measure in MEASURES.items() if measure.kind == "girth"}
    assert girths == {row["key"] for row in table("child_girths")}
    for age, low, high in WAISTS:
        for years in (age, age + 1):  # before and after its birthday
            assert all(10 * Decimal(cm) in child_ranges(years)["waist"] for cm in (low, high)), age
        assert 15 * Decimal(high) not in child_ranges(age)["waist"], age
    for before, years in pairwise(range(19)):
        ends = [(child_ranges(before)[key], child_ranges(years)[key]) for key in girths]
        assert all(one.high <= other.high for one, other in ends), years
        assert all(one.low <= other.low < other.high for one, other in ends), years
    assert {key: child_ranges(18)[key].high for key in girths} == {
        key: MEASURES[key].range.high for key in girths
    }
    assert asked(*BABY, child=True, born=2025) == []
    assert [kinds(f"head: {cm}", child=True, born=2026) for cm in ("31.7", "36.8")] == [[], []]
    for odd in ("bust: 92", "waist: 72", "hip: 98", "inseam: 60", "upper_arm: 30"):
        assert kinds(odd, child=True, born=2025) == ["range"], odd


def test_a_child_of_known_age_is_asked_about_its_height():
    """Size 116 is one of six years, as above; 150 cm are many then, and 116 few at thirteen."""
    for born, cm, kinds_asked in (
        (2020, 116, []), (2020, 150, ["range"]), (2013, 150, []), (2013, 116, ["range"]),
        (None, 116, []),
    ):  # fmt: skip
        doubted = asked(f"height: {cm}", child=True, born=born)
        assert [doubt.kind for doubt in doubted] == kinds_asked, (born, cm)


def test_a_child_grows_and_does_not_shrink():
    """Five centimetres a year more than the five that are asked about (common practice)."""
    before = taken("hip: 64", day=date(2025, 3, 2))
    for typed, expected in [("74", []), ("74.1", ["change"]), ("58.9", ["change"])]:
        assert kinds(f"hip: {typed}", before=before, child=True) == expected


def test_who_is_pregnant_grows():
    """Five centimetres in four weeks beside the five (common practice), and the waist above the
    hip; what became less is asked about as ever.
    """
    before = taken("waist: 80", day=date(2026, 2, 2))
    for typed, expected in [("90", []), ("90.1", ["change"]), ("74.9", ["change"])]:
        doubted = asked(f"waist: {typed}", before=before, pregnant=True)
        assert [doubt.kind for doubt in doubted] == expected, typed
    assert kinds("waist: 104", "hip: 102") == ["body"]
    assert asked("waist: 104", "hip: 102", pregnant=True) == []


def test_a_length_that_changed_is_not_asked():
    assert kinds("outseam: 96", before=taken("outseam: 104")) == []


def test_a_waist_at_another_level_is_not_compared():
    """ISO 8559-1: the natural waist and the waist half way are two measures."""
    assert kinds("waist: 72", before=taken("waist: 80", waist_at="midway")) == []
    assert kinds("waist: 72", before=taken("waist: 80")) == ["change"]


def test_several_questions_come_in_one_order():
    questions = asked(
        "bust: 36", "waist: 102", "hip: 100", "wrist: 22", "thigh left: 55", "thigh right: 58",
        waist_at="", before=taken("hip: 94"),
    )  # fmt: skip
    assert [(doubt.kind, doubt.spots[0][0]) for doubt in questions] == [
        ("unit", "bust"),
        ("range", "wrist"),
        ("level", "waist"),
        ("body", "waist"),
        ("body", "thigh"),
        ("change", "hip"),
    ]


def test_an_empty_sheet_and_a_usual_one_ask_nothing():
    """The second: bust, waist and hip of one figure, common practice."""
    assert asked() == []
    assert asked("height: 168", "bust: 92", "underbust: 78", "waist: 74", "hip: 98") == []
