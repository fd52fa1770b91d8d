"""What every file that comes in goes through: rows held in the page, and checked by a form."""

import pytest
import time_machine

from studio.shop.files import Row, UnreadableFileError
from studio.shop.forms import MoneyField
from studio.shop.imports import (
    CellField,
    ImportRefusedError,
    RowForm,
    at_most,
    check,
    hold,
    release,
    yes_or_no,
)

ROWS = [Row(2, {"name": "Órla", "notes": "a\nb"})]


def test_what_is_held_comes_back_as_it_was():
    assert release(hold(ROWS, "clients"), "clients") == ROWS


@pytest.mark.parametrize("harm", [lambda held: held[:-1], lambda held: "x" + held, lambda held: ""])
def test_what_was_tampered_with_is_not_taken(harm):
    with pytest.raises(ImportRefusedError, match="too long"):
        release(harm(hold(ROWS, "clients")), "clients")


def test_what_was_held_for_another_is_not_taken():
    with pytest.raises(ImportRefusedError, match="another client's or another list's"):
        release(hold(ROWS, "sheets of 1"), "sheets of 2")


def test_what_was_held_for_days_is_not_taken():
    with time_machine.travel("2026-11-27 12:00Z", tick=False) as moment:
        held = hold(ROWS, "clients")
        moment.shift(23 * 3600)
        assert release(held, "clients") == ROWS
        moment.shift(2 * 3600)
        with pytest.raises(ImportRefusedError):
            release(held, "clients")


def test_more_than_a_page_can_hold_is_refused(monkeypatch):
    monkeypatch.setattr("studio.shop.imports.MOST_LETTERS", 10)
    with pytest.raises(UnreadableFileError, match="in parts"):
        hold(ROWS, "clients")


class CoatRow(RowForm):
    name = CellField("coat", at_most(9))
    lined = CellField("has lining", yes_or_no, empty=False)
    price = MoneyField(label="fixed price", required=False)


def test_a_column_that_the_file_lacks_states_nothing(studio):
    form = CoatRow({"coat": "  blue   coat ", "other": "x"}, studio=studio)
    assert form.is_valid()
    assert form.cleaned_data == {"name": "blue coat"}


def test_an_empty_cell_has_its_own_meaning(studio):
    form = CoatRow({"coat": "Coat", "has lining": " ", "fixed price": ""}, studio=studio)
    assert form.is_valid()
    assert form.cleaned_data == {"name": "Coat", "lined": False, "price": None}


def test_all_that_is_wrong_with_a_row_is_said_by_its_columns(studio):
    row = Row(3, {"coat": "", "has lining": "maybe", "fixed price": "dear"})
    check(row, CoatRow(row.cells, studio=studio))
    assert row.problems == [
        "coat: is missing.",
        "has lining: write yes or no, not “maybe”.",
        "fixed price: Write an amount in EUR, such as 24.50.",
    ]
