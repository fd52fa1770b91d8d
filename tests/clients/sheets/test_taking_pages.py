"""The page on which a sheet is taken: what it asks, what it keeps, what it shows beside a field."""

import pytest
from django.urls import reverse

from clients.fit.measures import MEASURES
from clients.models import Sheet
from clients.sheets.queries import taking_of
from studio.shop import clock
from tests.factories import ClientFactory, MeasuredFactory


@pytest.fixture
def new(mary):
    return reverse("sheet-new", args=[mary.pk])


def only():
    return Sheet.objects.get()


@pytest.mark.parametrize("who", ["owner_client", "helper_client"])
def test_a_sheet_is_kept(who, request, new, filled):
    browser = request.getfixturevalue(who)
    data = filled(waist="72,5 cm", hip="38 1/2 in", worn="corset", heel="0", thigh_left="57")
    response = browser.post(new, data, follow=True)
    assert response.redirect_chain == [(f"/clients/sheets/{only().pk}/", 302)]
    typed = {spot: length.typed for spot, length in taking_of(only()).lengths.items()}
    assert typed == {
        ("waist", ""): "72,5 cm",
        ("hip", ""): "38 1/2 in",
        ("thigh", "left"): "57",
    }
    assert (only().heel_mm, only().heel_typed, only().worn) == (0, "0", "corset")
    assert "72,5 cm" in response.text


def test_the_form_sent_twice_is_one_sheet(owner_client, new, filled):
    data = filled(waist="72")
    assert owner_client.post(new, data).url == owner_client.post(new, data).url
    assert Sheet.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "field", "says"),
    [
        ({"waist": "wide"}, "waist", "Write one number and one unit"),
        ({"waist": "72", "agreed": ""}, "agreed", "Measures are kept only with"),
        ({"waist": "72", "minor": "on"}, "guardian", "parent or guardian"),
        ({"waist": "52", "minor": "on", "guardian": "Ann", "born": "1990"}, "born", "A year from"),
        ({"waist": "72", "pregnant": "on", "week": "43"}, "week", "from 1 to 42"),
        ({"waist": "72", "taken_on": "2026-11-28"}, "taken_on", "still ahead"),
        ({"waist": "72", "consent_on": "2027-01-01"}, "consent_on", "still ahead"),
        ({"thigh": "57", "thigh_left": "58"}, "thigh", "one value for both sides"),
        ({}, None, "at least one measure"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_lost(owner_client, new, filled, wrong, field, says):
    response = owner_client.post(new, filled(**({"knee_left": "38"} if field else {}), **wrong))
    assert says in str(response.context["form"].errors[field or "__all__"])
    assert not Sheet.objects.exists()
    if field:
        assert response.context["form"]["knee_left"].value() == "38"


def test_a_doubt_is_shown_once_and_never_a_block(owner_client, new, filled):
    """A hip of 38 cm is probably inches: the first percentile is 86 cm (NATICK/TR-15/007)."""
    data = filled(hip="38")
    response = owner_client.post(new, data)
    (doubt,) = response.context["doubts"]
    assert doubt.kind == "unit"
    assert doubt.says.startswith("Hip 38: unlikely in centimetres, usual in inches.")
    assert "Save all the same" in response.text
    assert not Sheet.objects.exists()
    # Another slip made meanwhile is another doubt.
    response = owner_client.post(new, data | {"seen": doubt.says, "waist": "29"})
    assert not Sheet.objects.exists()
    seen = [doubt.says for doubt in response.context["doubts"]]
    assert owner_client.post(new, data | {"seen": seen, "waist": "29"}).status_code == 302
    page = owner_client.get(only().get_absolute_url())
    assert [doubt.says for doubt in page.context["doubts"]] == seen
    assert "unlikely in centimetres" in page.text


def test_the_last_sheet_stands_beside_each_field(owner_client, new, filled, measured):
    measured("2026-10-01", waist=75)
    measured("2026-11-01", waist=74)
    page = owner_client.get(new)
    waist = next(row for row in page.context["rows"].usual if row.measure.key == "waist")
    assert (waist.place.last, waist.place.change) == ("last 74", "")
    assert 'data-last="740.0000"' in page.text
    assert page.context["form"]["waist_at"].value() == "natural"
    page = owner_client.post(new, filled(waist="72.5", agreed=""))
    waist = next(row for row in page.context["rows"].usual if row.measure.key == "waist")
    assert waist.place.change == "\N{MINUS SIGN}1.5"
    page = owner_client.post(new, filled(waist="72.5", agreed="", waist_at="midway"))
    waist = next(row for row in page.context["rows"].usual if row.measure.key == "waist")
    assert waist.place.change == ""


def test_what_was_taken_earlier_today_stands_beside_it_too(owner_client, new, measured):
    """The newest of each measure, of whichever sheet it is."""
    measured("2026-10-01", waist=75, hip=99)
    measured(waist=74)
    rows = {row.measure.key: row.place for row in owner_client.get(new).context["rows"].all}
    assert (rows["waist"].last, str(rows["waist"].day)) == ("last 74", "2026-11-27")
    assert (rows["hip"].last, str(rows["hip"].day)) == ("last 99", "2026-10-01")


def test_one_measure_is_asked_about_at_once_and_not_again(owner_client, new, filled, measured):
    """47 for 74: the figures swapped are offered; what is answered is not asked at Save."""
    measured("2026-10-01", waist=74)
    data = filled(waist="67", hip="98")
    page = owner_client.post(new, data | {"ask": "waist"})
    assert page.context["swapped"] == "76"
    assert "67? Last time 74." in page.text
    seen = [part for doubt in page.context["doubts"] for part in doubt.parts]
    assert owner_client.post(new, data | {"ask": "waist", "seen": seen}).status_code == 204
    assert owner_client.post(new, data | {"ask": "hip"}).status_code == 204
    assert owner_client.post(new, data | {"ask": "nothing"}).status_code == 204
    assert Sheet.objects.count() == 1
    assert owner_client.post(new, data | {"seen": seen}).status_code == 302


def test_values_in_the_other_unit_are_asked_once_each(owner_client, new, filled):
    """On the page of all measures they are one question; one by one it has several parts."""
    seen = []
    for key, typed in (("bust", "36"), ("hip", "38")):
        page = owner_client.post(new, filled(bust="36", hip="38", ask=key, seen=seen))
        (doubt,) = page.context["doubts"]
        assert page.context["instead"] == f"{typed} in"
        seen.append(next(part for part in doubt.parts if typed in part))
    assert owner_client.post(new, filled(bust="36", hip="38", seen=seen)).status_code == 302


def test_where_the_waist_was_taken_is_asked_with_its_answers(owner_client, new, filled):
    page = owner_client.post(new, filled(waist="72", waist_at="", ask="waist"))
    assert page.context["fact"].name == "waist_at"
    assert page.text.count("data-to=") == len(Sheet.WaistAt)


def test_a_child_is_asked_as_a_child(owner_client, new, filled):
    data = filled(height="116", hip="64", minor="on", guardian="Ann")
    assert owner_client.post(new, data).status_code == 302
    # Beside the next client's measures only where the waist is taken is remembered.
    form = owner_client.get(reverse("sheet-new", args=[ClientFactory().pk])).context["form"]
    values = {name: form[name].value() for name in ("waist_at", "front_from", "minor")}
    assert values == {"waist_at": "natural", "front_from": "neck_side", "minor": None}


def test_a_childs_year_of_birth_is_kept_with_its_sheet_alone(owner_client, new, filled):
    """Asked about by age, remembered for the next sheet, and for no adult."""
    data = filled(height="150", minor="on", guardian="Ann", born=str(clock.today().year - 6))
    assert "usually 98.8 to 132.8" in owner_client.post(new, data).text
    owner_client.post(new, data | {"height": "116"})
    assert only().born == clock.today().year - 6
    assert owner_client.get(new).context["form"]["born"].value() == only().born
    Sheet.objects.all().delete()
    owner_client.post(new, filled(height="170", born="1990"))
    assert only().born is None


def test_a_pregnancy_goes_on_with_the_next_sheet_until_it_is_over(
    owner_client, new, filled, friday
):
    """Four weeks after week 20 it is the 24th; grown by 8 cm it is not asked, and offered as the
    answer where nobody has said so.
    """
    owner_client.post(new, filled(waist="90"))
    friday.shift(28 * 24 * 3600)
    today = {"taken_on": clock.today(), "consent_on": clock.today()}
    asked = owner_client.post(new, filled(waist="98", ask="waist", **today))
    assert "98 is right: pregnant" in asked.text
    assert "pregnant" not in owner_client.post(new, filled(waist="82", ask="waist", **today)).text
    data = filled(waist="98", pregnant="on", week="20", **today)
    assert owner_client.post(new, data | {"ask": "waist"}).status_code == 204
    assert owner_client.post(new, data).status_code == 302
    friday.shift(28 * 24 * 3600)
    form = owner_client.get(new).context["form"]
    assert (form["pregnant"].value(), form["week"].value()) == (True, 24)
    today = {"taken_on": clock.today(), "consent_on": clock.today()}
    owner_client.post(new, filled(waist="99", week="24", **today))
    last = Sheet.objects.latest("pk")
    assert (last.pregnant, last.week) == (False, None)
    assert owner_client.get(new).context["form"]["pregnant"].value() is None


def test_the_unit_stands_beside_each_number(owner_client, new, filled):
    page = owner_client.post(new, filled(waist="29 in", hip="98", agreed=""))
    units = {key: page.context["form"][key].unit_beside for key in ("waist", "hip", "heel")}
    assert units == {"waist": "", "hip": "cm", "heel": "cm"}


def test_fifteen_come_first(owner_client, new):
    rows = owner_client.get(new).context["rows"]
    assert (len(rows.usual), len(rows.others)) == (15, len(MEASURES) - 15)
    assert not rows.others_open


def test_a_sheet_of_today_is_corrected_another_not(owner_client, filled, measured, friday):
    sheet = measured(waist=72)
    page = reverse("sheet-correct", args=[sheet.pk])
    assert owner_client.get(page).context["form"]["waist"].value() == "72"
    owner_client.post(page, filled(waist="73"))
    assert taking_of(only()).lengths["waist", ""].typed == "73"
    friday.shift(24 * 3600)
    response = owner_client.post(page, filled(waist="90"), follow=True)
    assert "on its own day only" in response.text
    assert taking_of(only()).lengths["waist", ""].typed == "73"
    assert page not in owner_client.get(sheet.get_absolute_url()).text


def test_a_merged_clients_sheet_is_taken_of_the_entry_that_stays(owner_client, mary):
    gone = ClientFactory(merged_into=mary)
    response = owner_client.get(reverse("sheet-new", args=[gone.pk]))
    assert response.url == reverse("sheet-new", args=[mary.pk])


def test_inches_are_the_studios_where_it_says_so(owner_client, studio, new, filled):
    studio.unit = studio.Unit.INCH
    studio.save()
    owner_client.post(new, filled(waist="28 3/8"))
    assert taking_of(only()).lengths["waist", ""].unit == "in"


@pytest.mark.parametrize("rows", [1, 3])
def test_the_queries_of_a_new_sheet(owner_client, new, measured, django_assert_num_queries, rows):
    for day in range(rows):
        measured(f"2026-10-0{day + 1}", waist=70, hip=98, bust=90)
    with django_assert_num_queries(8):
        owner_client.get(new)


def test_what_no_sheet_has_is_a_set_of_its_own(owner_client, new, mary, measured):
    """The wrist on one sheet, the left thigh on another: neither is missing."""
    assert not owner_client.get(new).context["missing"]
    measured("2026-01-02", wrist=16)
    MeasuredFactory(
        sheet=measured("2026-03-01", hip=98), key="thigh", side="left", mm=570, typed="57"
    )
    response = owner_client.get(new)
    missing = [row.measure.key for row in response.context["rows"].all if row.missing]
    assert response.text.count(" data-missing ") == len(missing)
    assert {*missing} == MEASURES.keys() - {"wrist", "thigh", "hip"}
    counts = {each.name: each.count for each in response.context["missing"]}
    # Of the gown's twenty its wrist and hip are here, of the trousers' fourteen thigh and hip.
    assert (counts["gown"], counts["trousers"], counts["all"]) == (18, 12, len(MEASURES) - 3)
    assert "Missing, gown, 18</option>" in response.text
    page = owner_client.get(reverse("sheets", args=[mary.pk]))
    assert f"{new}?set=missing+all" in page.text
