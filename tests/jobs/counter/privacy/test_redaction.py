"""What is left of an agreement's frozen data and of a history's words."""

import pytest

from jobs.counter.privacy.actions import blank, redact_agreement, redact_words
from jobs.counter.privacy.belongings import ERASED_NAME
from tests.papers_data import agreed, wedding


def texts(value: object) -> set[str]:
    """Every text in nested data."""
    if isinstance(value, dict):
        return set().union(*map(texts, value.values()), set())
    if isinstance(value, list):
        return set().union(*map(texts, value), set())
    return {value} if isinstance(value, str) and value else set()


def test_only_the_shop_the_work_and_the_money_are_left():
    before = agreed(*wedding())
    after = redact_agreement(before)
    assert after["client"]["name"] == ERASED_NAME
    gone = texts(before) - texts(after)
    assert gone >= {
        "Maeve Tuohy", "085 555 0143", "a wedding", "Sister of the bride; call before cutting.",
        "7 cm", "belt, shoes", "small pull in the cloth at the left hip", "keep the original edge",
        "2026-12-05", "long, boat neck, covered buttons at the back",
    }  # fmt: skip
    assert {key: after[key] for key in ("net", "tax", "gross", "rates", "studio")} == {
        key: before[key] for key in ("net", "tax", "gross", "rates", "studio")
    }
    assert [line["name"] for piece in after["garments"] for line in piece["lines"]] == [
        line["name"] for piece in before["garments"] for line in piece["lines"]
    ]


def test_the_shape_stays_so_that_papers_can_be_made():
    before = agreed(*wedding())
    after = redact_agreement(before)
    assert after.keys() == before.keys()
    for piece, was in zip(after["garments"], before["garments"], strict=True):
        assert piece.keys() == was.keys()
        assert [line.keys() for line in piece["lines"]] == [line.keys() for line in was["lines"]]


def test_what_is_not_known_is_blanked():
    before = agreed()
    before["heard"] = {"from": "her neighbour", "times": 3, "days": ["Monday"], "sure": True}
    before["garments"][0]["lines"][0]["who"] = "her sister"
    after = redact_agreement(before)
    assert after["heard"] == {"from": "", "times": 0, "days": [], "sure": False}
    assert after["garments"][0]["lines"][0]["who"] == ""


def test_nothing_stays_nothing():
    assert blank(None) is None


@pytest.mark.parametrize(
    ("words", "left"),
    [
        ("Received, 1 piece.", "Received, 1 piece."),
        ("Received, 12 pieces.", "Received, 12 pieces."),
        ("Handed over: A, AB.", "Handed over: A, AB."),
        ("Invoice I26-0143 issued.", "Invoice I26-0143 issued."),
        ("Cancelled: Work started.", "Erased."),
        ("Not done: A Hem (Maeve rang).", "Erased."),
        ("Work started.\nMaeve rang", "Erased."),
        ("Handed over: Maeve.", "Erased."),
    ],
)
def test_words_that_anybody_typed_do_not_stay(words, left):
    assert redact_words(words) == left
