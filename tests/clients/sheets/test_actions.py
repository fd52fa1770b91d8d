"""A sheet is kept once, corrected on its own day, and moves along with its client."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest

from clients.actions import merge, unmerge
from clients.fit.lengths import parse_length
from clients.fit.measures import Range
from clients.models import GoneError, Measured, MeasureRange, Sheet
from clients.sheets.actions import SheetError, correct_sheet, set_ranges, take_sheet
from clients.sheets.queries import own_ranges, taking_of
from studio.shop import history
from tests.factories import ClientFactory

TODAY = date(2026, 11, 27)
FACTS = {"taken_on": TODAY, "consent_on": TODAY, "waist_at": "natural"}
LENGTHS = {("waist", ""): parse_length("28 3/8", "in"), ("thigh", "left"): parse_length("57", "cm")}


def take(client, by, **more):
    sent = {"facts": FACTS, "lengths": LENGTHS, "form_key": uuid4()} | more
    return take_sheet(client=client, by=by, **sent)


def test_values_come_back_as_typed_and_to_the_sixteenth(mary, owner):
    """28 3/8 in x 25.4 mm = 720.725 mm, exact (agreement of 1959)."""
    made = take(mary, owner)
    kept = Measured.objects.get(sheet=made, key="waist")
    assert (kept.typed, kept.unit, kept.mm) == ("28 3/8", "in", Decimal("720.7250"))
    assert taking_of(made).lengths == LENGTHS


def test_sent_twice_is_one_sheet(mary, owner):
    key = uuid4()
    assert take(mary, owner, form_key=key) == take(mary, owner, form_key=key)
    assert (Sheet.objects.count(), Measured.objects.count()) == (1, 2)
    with pytest.raises(SheetError, match="another client"):
        take(ClientFactory(), owner, form_key=key)


def test_nothing_is_kept_of_somebody_gone(mary, owner):
    mary.merged_into = ClientFactory()
    mary.save()
    with pytest.raises(GoneError):
        take(mary, owner)
    assert not Sheet.objects.exists()


def test_a_correction_replaces_the_values_of_its_own_day_only(mary, owner, friday):
    made, other = take(mary, owner), take(mary, owner)
    hip = {("hip", ""): parse_length("98", "cm")}
    correct_sheet(
        sheet=made, by=owner, facts=FACTS | {"worn": "corset"}, lengths=hip, emptied=LENGTHS
    )
    made = Sheet.objects.get(pk=made.pk)
    assert (made.worn, taking_of(made).lengths) == ("corset", hip)
    assert taking_of(Sheet.objects.get(pk=other.pk)).lengths == LENGTHS
    friday.shift(24 * 3600)
    with pytest.raises(SheetError, match="own day"):
        correct_sheet(sheet=made, by=owner, facts=FACTS, lengths=LENGTHS, emptied=())
    assert taking_of(Sheet.objects.get(pk=made.pk)).lengths == hip


def test_a_sheet_is_undone_on_its_own_day_only(mary, owner, friday):
    sheets = [take(mary, owner) for _ in range(2)]
    second, first = mary.latest_entries
    history.undo(entry=second, by=owner)
    assert list(mary.sheets.all()) == sheets[:1]
    friday.shift(24 * 3600)
    with pytest.raises(history.HistoryError, match="own day only"):
        history.undo(entry=first, by=owner)
    assert list(mary.sheets.all()) == sheets[:1]


def test_ranges_are_set_as_a_whole(studio, owner):
    set_ranges(ranges={"waist": Range(Decimal(500), Decimal(900))}, by=owner)
    set_ranges(ranges={"hip": Range(Decimal(700), Decimal(1600))}, by=owner)
    assert own_ranges() == {"hip": Range(Decimal(700), Decimal(1600))}
    set_ranges(ranges={}, by=owner)
    assert not MeasureRange.objects.exists()


def test_sheets_move_along_when_two_entries_become_one_and_back(mary, owner, measured):
    other = ClientFactory()
    theirs, mine = measured(client=other, waist=72), measured(waist=71)
    entry = merge(keep=mary, other=other, by=owner, facts={})
    assert set(mary.sheets.all()) == {theirs, mine}
    unmerge(entry=entry, by=owner)
    assert list(mary.sheets.all()) == [mine]
    assert list(other.sheets.all()) == [theirs]


def test_a_form_sent_again_with_another_value_is_not_called_saved(mary, owner):
    key = uuid4()
    made = take(mary, owner, form_key=key)
    assert take(mary, owner, form_key=key) == made
    with pytest.raises(SheetError, match="What you changed since is not saved"):
        take(mary, owner, form_key=key, facts=FACTS | {"waist_at": "lowered"})
    assert Sheet.objects.get().waist_at == "natural"
