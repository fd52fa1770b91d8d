"""Measures looked at: course, trend, age; one sheet; the owner's ranges; the client's page."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse
from scipy import stats

from clients.fit.measures import MEASURES
from clients.models import MeasureRange, Sheet
from clients.sheets.display import sparkline
from tests.factories import ClientFactory

MINUS = "\N{MINUS SIGN}"


@pytest.fixture
def page(mary):
    return reverse("sheets", args=[mary.pk])


def test_values_by_date_with_their_difference(owner_client, page, measured):
    measured("2026-09-01", waist=74, hip=99)
    measured("2026-10-01", waist=73)
    measured("2026-11-01", waist=72)
    rows = {row.last.name: row for row in owner_client.get(page).context["rows"]}
    assert list(rows) == ["Waist", "Hip"]
    assert (rows["Waist"].last.shown, rows["Waist"].last.change) == ("72", f"{MINUS}1")
    assert [value.shown for value in rows["Waist"].values] == ["74", "73", "72"]
    assert rows["Waist"].alt.startswith("Waist: 74 on Tue 1 Sept 2026, 73 on")
    assert rows["Hip"].last.change == ""


def test_sheets_of_one_day_are_told_apart(owner_client, page, measured):
    measured("2026-10-01", waist=74)
    measured("2026-11-01", waist=73)
    measured("2026-11-01", waist=72)
    listed = owner_client.get(page).text.split("Save as a table")[0]
    shown = [listed.index(day) for day in ("1 Nov 2026, no. 2", "1 Nov 2026, no. 1", "1 Oct 2026<")]
    assert shown == sorted(shown)


def test_a_waist_taken_elsewhere_is_listed_and_not_compared(owner_client, page, measured):
    measured("2026-10-01", waist=78, waist_at="midway")
    measured("2026-11-01", waist=72)
    (row,) = owner_client.get(page).context["rows"]
    assert row.last.change == ""
    assert [value.elsewhere for value in row.values] == [True, False]


def test_the_trend_to_a_day(owner_client, page, measured):
    """The line is checked against scipy.stats.linregress; two days are too few."""
    days, sizes = [date(2026, 9, 1), date(2026, 10, 1), date(2026, 11, 1)], [74, 73, 72]
    for day, waist in zip(days, sizes, strict=True):
        measured(day, waist=waist, **({"hip": 99} if waist < 74 else {}))
    response = owner_client.get(page, {"day": "2027-01-10"})
    rows = {row.last.name: row.outlook for row in response.context["rows"]}
    line = stats.linregress([day.toordinal() for day in days], sizes)
    expected = line.intercept + line.slope * date(2027, 1, 10).toordinal()
    shown = rows["Waist"].split(" ")[0]
    assert float(shown) == pytest.approx(expected, abs=0.05)
    assert rows["Waist"].endswith(f"{MINUS}{Decimal(72) - Decimal(shown)}")
    assert rows["Hip"] == "too few to say"
    assert "too few to say" in response.text
    assert response.context["fitting_from"] == date(2026, 12, 31)


def test_who_grows_is_not_forecast_smaller(owner_client, owner, page, measured, friday):
    """A child and in a pregnancy at once, another where it is ticked; 72 ends a falling row."""
    for day, waist in (("2026-09-01", 74), ("2026-10-01", 73), ("2026-11-01", 72)):
        sheet = measured(day, waist=waist)

    def outlook(**more):
        response = owner_client.get(page, {"day": "2027-01-10"} | more)
        return response.context["rows"][0].outlook

    assert float(outlook().split()[0]) < 72
    assert outlook(growing="on").startswith("72 (72 to ")
    for facts in ({"minor": True}, {"minor": False, "pregnant": True, "week": 30}):
        Sheet.objects.filter(pk=sheet.pk).update(taken_by=owner, **facts)
        assert outlook().startswith("72 (72 to "), facts
    # From 1 November in week 30 the 42nd is the one of 24 January; on the 31st it is over.
    friday.move_to("2027-01-30T12:00Z")
    assert outlook(day="2027-03-10").startswith("72 (72 to ")
    friday.move_to("2027-01-31T12:00Z")
    assert float(outlook(day="2027-03-10").split()[0]) < 72


@pytest.mark.parametrize("day", ["2026-11-27", "2026-01-01", "tomorrow"])
def test_a_trend_needs_a_day_ahead(owner_client, page, measured, day):
    measured("2026-11-01", waist=72)
    response = owner_client.get(page, {"day": day})
    assert "day" in response.context["form"].errors
    assert [row.outlook for row in response.context["rows"]] == [""]


@pytest.mark.parametrize(("day", "old"), [("2026-05-26", True), ("2026-05-27", False)])
def test_older_than_six_months_is_said(owner_client, mary, page, measured, day, old):
    """Measure again every six months: Texas extension, Principles of Pattern Alteration."""
    sheet = measured(day, waist=72)
    for address in (page, sheet.get_absolute_url(), reverse("client", args=[mary.pk])):
        assert ("lder than six months" in owner_client.get(address).text) is old


def test_the_clients_page_leads_to_the_measures(owner_client, mary, page, measured):
    client = reverse("client", args=[mary.pk])
    assert "All measures" not in owner_client.get(client).text
    assert f'href="{reverse("sheet-new", args=[mary.pk])}"' in owner_client.get(client).text
    measured("2026-11-01", waist=72)
    text = owner_client.get(client).text
    assert "Sun 1 Nov 2026" in text
    assert f'href="{page}"' in text


def test_one_sheet_with_differences_and_what_is_read_off_it(owner_client, measured):
    """89 and 108 are a 90D, 82 to 86 is size 84: EN 13402, as its reference page gives them."""
    measured("2026-10-01", waist=74)
    sheet = measured("2026-11-27", bust=108, underbust=89, high_bust=103, waist=73)
    page = owner_client.get(sheet.get_absolute_url())
    rows = {row.name: row.change for row in page.context["rows"]}
    assert rows == {
        "High bust": "",
        "Bust or chest": "",
        "Under the bust": "",
        "Waist": f"{MINUS}1",
    }
    sizes = dict(page.context["sizes"])
    assert sizes["Bra size, EN 13402"] == "90D"
    for size in ("a5", "a6", "half-letter"):
        assert f'href="{reverse("sheet-card", args=[sheet.pk, size])}"' in page.text
    assert sizes["Choose a pattern"] == "by the high bust: the bust is 5 cm more"


def test_two_sheets_compared(owner_client, measured):
    """By hand: waist 74 to 72.5 is the most, so 40 of 100 to the left; hip 98 to 98.5 a third."""
    measured("2026-10-01", waist=74, hip=98, bust=90)
    sheet = measured("2026-11-01", waist=Decimal("72.5"), hip=Decimal("98.5"), bust=90)
    page = owner_client.get(sheet.get_absolute_url())
    assert [(row.name, row.change, row.start, row.wide) for row in page.context["changes"]] == [
        ("Waist", f"{MINUS}1.5", 10, 40), ("Hip", "+0.5", 50, 13),
    ]  # fmt: skip
    assert page.context["same"] == ["Bust or chest"]
    front = page.context["views"][0]
    assert (len(front.laid), len(front.lines)) == (1, 2)


def test_a_note_on_health_is_marked(owner_client, measured):
    sheet = measured(waist=72)
    sheet.note, sensitive = "A left prosthesis", "Tells of health"
    sheet.save()
    assert sensitive not in owner_client.get(sheet.get_absolute_url()).text
    sheet.sensitive = True
    sheet.save()
    assert sensitive in owner_client.get(sheet.get_absolute_url()).text


def test_an_erased_client_has_no_measures(owner_client, page, mary, friday):
    mary.erased_at = "2026-11-01T12:00Z"
    mary.save()
    assert owner_client.get(page).status_code == 404


def test_a_merged_entry_leads_to_the_one_that_stays(owner_client, mary, page):
    gone = ClientFactory(merged_into=mary)
    assert owner_client.get(reverse("sheets", args=[gone.pk])).url == page


def test_a_sparkline_rises_to_the_right():
    """By hand: 112 wide and 24 high between edges of 4; 10 of 40 days are a quarter."""
    days = [date(2026, 1, 1), date(2026, 1, 11), date(2026, 2, 10)]
    line = sparkline(list(zip(days, map(Decimal, (700, 710, 720)), strict=True)))
    assert line.points == ((4, 28), (32, 16), (116, 4))
    assert line.line == "4,28 32,16 116,4"
    assert sparkline([(days[0], Decimal(700))]).points == ((116, 16),)


def test_the_owner_sets_ranges(owner_client, mary, filled):
    page = reverse("measure-ranges")
    owner_client.post(page, {"waist_low": "60", "waist_high": "70"})
    own = MeasureRange.objects.get()
    assert (own.key, own.low_mm, own.high_mm) == ("waist", 600, 700)
    assert owner_client.get(page).context["form"]["waist_high"].value() == "70"
    response = owner_client.post(reverse("sheet-new", args=[mary.pk]), filled(waist="72"))
    assert [doubt.says for doubt in response.context["doubts"]] == [
        "Waist 72 cm: usually 60 to 70."
    ]


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({"waist_low": "60"}, "waist_high"),
        ({"waist_high": "60"}, "waist_low"),
        ({"waist_low": "70", "waist_high": "60"}, "waist_high"),
        ({"waist_low": "wide", "waist_high": "60"}, "waist_low"),
    ],
)
def test_half_a_range_is_none(owner_client, sent, field):
    response = owner_client.post(reverse("measure-ranges"), sent)
    assert list(response.context["form"].errors) == [field]
    assert not MeasureRange.objects.exists()


def test_a_sheet_is_compared_with_any_other(owner_client, measured):
    """From 22 August to 20 November are 9 + 30 + 31 + 20 = 90 days."""
    first = measured("2026-08-22", waist=74, hip=101)
    measured("2026-10-01", waist=75, hip=101)
    last = measured("2026-11-20", waist=77, hip=101)
    others = measured("2026-11-01", client=ClientFactory(), waist=60)
    page = owner_client.get(last.get_absolute_url(), {"other": first.pk})
    (row,) = page.context["changes"]
    assert (row.name, row.was, row.now, row.change) == ("Waist", "74", "77", "+3")
    assert page.context["same"] == ["Hip"]
    assert "Changed since Sat 22 Aug 2026, 90 days" in page.text
    earlier = owner_client.get(first.get_absolute_url(), {"other": last.pk})
    assert earlier["Location"] == f"{last.get_absolute_url()}?other={first.pk}"
    refused = owner_client.get(last.get_absolute_url(), {"other": others.pk})
    assert [row.was for row in refused.context["changes"]] == ["75"]


def test_a_measure_opens_into_a_large_chart_with_its_table(owner_client, page, measured):
    """The line joins what can be compared; the table has every value."""
    measured("2026-09-01", waist=78, waist_at="midway")
    measured("2026-10-01", waist=74)
    measured("2026-11-01", waist=72)
    shown = owner_client.get(page)
    (row,) = shown.context["rows"]
    assert [point.shown for point in row.chart.points] == ["74", "72"]
    assert shown.text.count('class="trend"') == 1
    table = shown.text[shown.text.index('class="table"') :]
    assert table.count('<td class="num strong">') == 3


def test_the_form_shows_where_each_tape_goes(owner_client, mary):
    form = owner_client.get(reverse("sheet-new", args=[mary.pk])).text
    assert form.count('class="doll tape-place"') == len(MEASURES)
    assert form.count('id="cloth-front"') == form.count('id="cloth-back"') == 1


@pytest.mark.parametrize("rows", [1, 3])
@pytest.mark.parametrize(("name", "queries"), [("sheets", 6), ("sheet", 9)])
def test_the_queries(name, queries, owner_client, mary, measured, django_assert_num_queries, rows):
    for day in range(rows):
        sheet = measured(f"2026-10-0{day + 1}", waist=70, hip=98, bust=90)
    before = measured("2026-09-01", waist=70)
    address = page_of(name, mary, sheet)
    assert before.taken_on < "2026-10-01"
    with django_assert_num_queries(queries):
        owner_client.get(address)


def page_of(name, client, sheet):
    return sheet.get_absolute_url() if name == "sheet" else reverse(name, args=[client.pk])
