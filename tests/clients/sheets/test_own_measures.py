"""Measures of the owner's own: on every page, paper and file like those of the list, never lost."""

from decimal import Decimal

import pytest
from django.urls import reverse

from clients.fit.lengths import parse_length
from clients.models import Measured, MeasureSet, OwnMeasure, Sheet
from clients.sheets.actions import import_sheets
from clients.sheets.display import course_rows
from clients.sheets.documents import card_rows
from clients.sheets.files import read_file
from clients.sheets.queries import sheet_at, sheets_of, taking_of
from studio.shop import history
from tests.factories import MeasuredFactory, MeasureSetFactory, OwnMeasureFactory


@pytest.fixture
def depth(db):
    """How far the bust lies above the waist, usually 12 to 22 cm."""
    return OwnMeasureFactory(name="Tiefe Büste", low_mm=120, high_mm=220, sided=True)


def kept(sheet: Sheet) -> dict[str, str]:
    return {f"{row.key} {row.side}".strip(): row.typed for row in sheet.values.order_by("key")}


def test_no_correction_takes_away_what_the_page_did_not_show(
    owner_client, measured, filled, depth, friday
):
    """A retired measure, one that no list knows any more, and a field that came in meanwhile."""
    sheet = measured(waist=72, hip=98)
    MeasuredFactory(sheet=sheet, key=depth.key, own=depth, mm=170, typed="17")
    MeasuredFactory(sheet=sheet, key="gone", side="left", mm=310, typed="31")
    depth.retired_at = "2026-11-27T09:00Z"
    depth.save()
    assert taking_of(sheet_at(sheet.pk)).values["gone", "left"] == 310
    page = reverse("sheet-correct", args=[sheet.pk])
    form = owner_client.get(page).context["form"]
    assert [form[name].value() for name in (depth.key, "gone_left")] == ["17", "31"]
    assert owner_client.post(page, filled(waist="73", hip="")).status_code == 302
    assert kept(sheet) == {"gone left": "31", depth.key: "17", "waist": "73"}
    # What the page did show and is emptied goes.
    assert owner_client.post(page, filled(waist="73", gone_left="")).status_code == 302
    assert kept(sheet) == {depth.key: "17", "waist": "73"}


def test_an_own_measure_is_taken_asked_shown_compared_and_printed(
    owner_client, mary, measured, filled, depth
):
    before = measured("2026-10-01", waist=72)
    MeasuredFactory(sheet=before, key=depth.key, own=depth, mm=180, typed="18")
    new = reverse("sheet-new", args=[mary.pk])
    page = owner_client.get(new)
    (row,) = page.context["rows"].own
    assert (row.place.last, row.measure.landmark, row.tape.laid) == ("last 18", depth.how, ())
    assert ("own", 1) in [(each.name, each.count) for each in page.context["sets"]]
    odd = owner_client.post(new, filled(waist="72", **{depth.key: "31"}))
    assert "Tiefe Büste 31 cm: usually 12 to 22." in odd.text
    owner_client.post(new, filled(waist="72", **{depth.key: "17.5"}))
    after = Sheet.objects.latest("pk")
    assert Measured.objects.get(sheet=after, own=depth).mm == Decimal(175)
    shown = owner_client.get(after.get_absolute_url())
    assert [row.name for row in shown.context["changes"]] == ["Tiefe Büste"]
    rows = list(course_rows([taking_of(each) for each in sheets_of(mary)], "cm", "en", None))
    assert [(row.last.name, row.last.change) for row in rows][-1] == ("Tiefe Büste", "\u22120.5")
    assert "Tiefe Büste" in [row.measure.name for row in card_rows(taking_of(sheet_at(after.pk)))]


def test_own_measures_go_out_and_come_in_by_their_names(
    owner_client, owner, studio, mary, measured, depth
):
    """The same table read back is the same sheet: also of a measure that is retired by then."""
    sheet = measured(waist=72)
    left = parse_length("17 3/8", "in")
    MeasuredFactory(
        sheet=sheet, key=depth.key, side="left", own=depth, mm=left.mm, typed="17 3/8", unit="in"
    )
    text = owner_client.get(reverse("sheets-csv", args=[mary.pk])).content.decode("utf-8-sig")
    assert "Tiefe Büste, left" in text
    taken = taking_of(sheet_at(sheet.pk)).values
    Sheet.objects.all().delete()
    depth.retired_at = "2026-11-27T09:00Z"
    depth.save()
    reading = read_file(text.replace("Tiefe Büste", "TIEFE BUSTE"), studio=studio, health=True)
    assert (reading.unknown, len(reading.right)) == ([], 1)
    import_sheets(client=mary, by=owner, studio=studio, rows=reading.right)
    (back,) = sheets_of(mary)
    assert taking_of(back).values == taken
    assert back.values.get(key=depth.key).own == depth


NEW = {"of": "body", "name": "Heel to ball", "how": "Along the sole, standing", "kind": "length"}
NEW |= {"at": "ankle"}


def test_the_owner_makes_changes_and_retires_a_measure(owner_client, mary, measured, studio):
    page, listed = reverse("own-measure-new"), reverse("own-measures")
    assert owner_client.post(page, NEW | {"low": "12", "high": "22"}).url == listed
    made = OwnMeasure.objects.get()
    assert (made.low_mm, made.high_mm, made.at) == (120, 220, "ankle")
    card = reverse("own-measure", args=[made.pk])
    owner_client.post(card, NEW | {"low": "12", "high": "22", "name": "Sole", "sided": "on"})
    made.refresh_from_db()
    assert (made.name, made.sided, made.low_mm) == ("Sole", True, 120)
    MeasuredFactory(sheet=measured(waist=72), key=made.key, own=made, side="left")
    assert "A sheet has left and right of it." in owner_client.post(card, NEW).text
    owner_client.post(card, {"intent": "remove"})
    new = reverse("sheet-new", args=[mary.pk])
    assert not owner_client.get(new).context["rows"].own
    assert "no longer asked" in owner_client.get(listed).text
    undo = reverse("studio-undo")
    owner_client.post(undo, {"entry": history.of(studio).first().pk})
    assert len(owner_client.get(new).context["rows"].own) == 1
    # A sheet stands on the measure: how it came in cannot be taken back.
    added = history.of(studio).filter(verb="measure.save").last()
    with pytest.raises(history.HistoryError):
        history.undo(entry=added, by=None)
    spare = OwnMeasureFactory()
    owner_client.post(reverse("own-measure", args=[spare.pk]), {"intent": "remove"})
    assert not OwnMeasure.objects.filter(pk=spare.pk).exists()


def test_names_that_read_alike_are_refused_at_the_field(owner_client, depth, studio):
    """Headings of a table are read without case, spaces and marks: so are names."""
    depth.retired_at = "2026-11-27T09:00Z"
    depth.save()
    for name in ("WAIST", "thigh,  LEFT", "tiefe  bUste", "Note", "=1+1", "Tiefe Büste, right"):
        page = owner_client.post(reverse("own-measure-new"), NEW | {"name": name})
        assert page.context["form"].errors["name"], name
    ends = owner_client.post(reverse("own-measure-new"), NEW | {"low": "30", "high": "20"})
    assert set(ends.context["form"].errors) == {"high"}
    own = MeasureSetFactory(name="Mieder Büste")
    for name in ("trousers", "usual", "mieder  buste"):
        sent = {"name": name, "measures": ["waist"]}
        assert "name" in owner_client.post(reverse("measure-set-new"), sent).context["form"].errors
    card = reverse("measure-set", args=[own.pk])
    assert "measures" in owner_client.post(card, {"name": "Mieder"}).context["form"].errors


def test_a_set_is_asked_in_the_order_in_which_it_was_pressed(
    owner_client, helper_client, mary, depth, studio
):
    chosen = {"name": "Boots", "measures": ["waist", "calf", "ankle", depth.key]}
    owner_client.post(reverse("measure-set-new"), chosen | {"order": f"calf {depth.key} ankle"})
    boots = MeasureSet.objects.get()
    assert boots.keys == ["calf", depth.key, "ankle", "waist"]
    page = helper_client.get(reverse("sheet-new", args=[mary.pk]))
    (asked,) = [each for each in page.context["sets"] if each.words == "Boots"]
    assert (asked.count, asked.order) == (4, f"calf {depth.key} ankle waist")
    card = reverse("measure-set", args=[boots.pk])
    assert [choice.number for choice in owner_client.get(card).context["form"].choices()][-1] == 2
    owner_client.post(card, {"intent": "remove"})
    assert not MeasureSet.objects.exists()
    owner_client.post(reverse("studio-undo"), {"entry": history.of(studio).first().pk})
    assert MeasureSet.objects.get().keys == boots.keys


@pytest.mark.parametrize("rows", [1, 3])
def test_the_queries_of_the_list(owner_client, django_assert_num_queries, rows):
    for _ in range(rows):
        OwnMeasureFactory()
        MeasureSetFactory()
    with django_assert_num_queries(5):
        owner_client.get(reverse("own-measures"))
