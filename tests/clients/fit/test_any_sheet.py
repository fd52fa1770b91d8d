"""What holds for the questions about any sheet, whatever was measured."""

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from clients.fit.changes import Taking, course
from clients.fit.checks import doubts
from clients.fit.lengths import Length, parse_length, show_length
from clients.fit.measures import MEASURES, Range, spots

DAY = date(2026, 3, 2)
SIXTEENTH = Decimal("1.5875")  # mm, exactly
SPOTS = st.sampled_from(spots(MEASURES))
INCHES = st.dictionaries(SPOTS, st.integers(1, 1280), max_size=12)
SHEETS = st.builds(
    lambda counts, level: Taking(DAY, {s: inches(n) for s, n in counts.items()}, level, level),
    INCHES,
    st.sampled_from(["", "natural"]),
)


def inches(count: int) -> Length:
    return parse_length(f"{show_length(count * SIXTEENTH, 'in')} in", "cm")


@given(SHEETS, SHEETS | st.none(), st.sampled_from(["cm", "in"]))
def test_a_question_is_a_sentence_about_what_was_measured(sheet, before, unit):
    for doubt in doubts(sheet, unit=unit, ranges={}, before=[before] if before else []):
        assert doubt.spots
        assert set(doubt.spots) <= set(sheet.lengths)
        assert doubt.says[0].isupper()
        assert doubt.says[-1] in ".?"


@given(SHEETS, SHEETS | st.none())
def test_no_value_is_asked_about_as_a_unit_and_once_more(sheet, before):
    """One that was probably read in another unit says nothing about the body."""
    questions = doubts(sheet, unit="cm", ranges={}, before=[before] if before else [])
    mixed = {spot for doubt in questions if doubt.kind == "unit" for spot in doubt.spots}
    rest = {spot for doubt in questions if doubt.kind != "unit" for spot in doubt.spots}
    assert not mixed & rest


@given(st.data())
def test_the_same_body_is_asked_the_same_in_millimetres(data):
    """Values inside their ranges, as sixteenths of an inch and as the millimetres they are."""
    drawn = data.draw(st.lists(SPOTS, unique=True, max_size=12))
    typed, bare = {}, {}
    for key, side in drawn:
        usual = MEASURES[key].range
        low, high = (int(end // SIXTEENTH) for end in (usual.low, usual.high))
        typed[key, side] = inches(data.draw(st.integers(low + 1, high)))
        mm = typed[key, side].mm
        bare[key, side] = Length(mm, f"{mm} mm", "mm")
    first, second = (
        [(doubt.kind, doubt.spots) for doubt in doubts(sheet, unit=unit, ranges={})]
        for sheet, unit in ((Taking(DAY, typed), "in"), (Taking(DAY, bare), "cm"))
    )
    assert first == second
    assert not {"unit", "range"} & {kind for kind, _ in first}


@given(SHEETS, st.sampled_from(["cm", "in"]))
def test_ranges_that_hold_everything_end_the_questions_about_values(sheet, unit):
    wide = dict.fromkeys(MEASURES, Range(Decimal(0), Decimal(10_000)))
    kinds = {doubt.kind for doubt in doubts(sheet, unit=unit, ranges=wide)}
    assert kinds <= {"level", "body"}


@given(SHEETS)
def test_the_same_sheet_again_is_no_change(sheet):
    questions = doubts(sheet, unit="cm", ranges={}, before=[sheet])
    assert "change" not in {doubt.kind for doubt in questions}


@given(
    st.dictionaries(st.integers(0, 900), st.integers(7000, 12000), min_size=1, max_size=9),
    st.randoms(use_true_random=False),
)
def test_a_course_takes_sheets_in_any_order(days, dice):
    sheets = [
        Taking(DAY + timedelta(days), {("hip", ""): parse_length(f"{tenths / 10} mm", "cm")})
        for days, tenths in days.items()
    ]
    dice.shuffle(sheets)
    measured = course(sheets, ("hip", ""))
    assert [(day - DAY).days for day, _ in measured.points] == sorted(days)
    assert measured.last == Decimal(days[max(days)]) / 10
