"""A client's sheets out to a table and in from one, line by line."""

import csv
import html
import io
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from clients.models import Sheet
from clients.sheets.queries import taking_of
from tests.factories import ClientFactory

HEADER = "Date,Agreed on,Waist taken,Waist,Hip,Note"


@pytest.fixture
def page(mary):
    return reverse("sheets-import", args=[mary.pk])


def send(browser, page, *rows, header=HEADER):
    data = "\r\n".join([header, *rows]).encode()
    return browser.post(page, {"file": SimpleUploadedFile("sheets.csv", data)})


def take_in(browser, page, preview):
    held = re.search(r'name="held" value="([^"]+)"', preview.text)[1]
    return browser.post(page, {"held": html.unescape(held)}, follow=True)


@pytest.mark.parametrize("who", ["owner_client", "helper_client"])
def test_a_table_goes_out_as_rfc_4180_says(who, request, mary, measured):
    """Read again by Python's csv module."""
    sheet = measured("2026-11-01", waist=72, hip=98)
    sheet.note = "=left, higher"
    sheet.save()
    response = request.getfixturevalue(who).get(reverse("sheets-csv", args=[mary.pk]))
    assert response["Content-Disposition"] == (
        f'attachment; filename="measures-{mary.pk}-2026-11-27.csv"'
    )
    (row,) = csv.DictReader(io.StringIO(response.content.decode("utf-8-sig"), newline=""))
    assert row["Date"] == row["Agreed on"] == "2026-11-01"
    assert (row["Waist"], row["Hip"], row["Waist taken"]) == (
        "72 cm", "98 cm", "Where a belt settles"
    )  # fmt: skip
    assert row["Note"] == "'=left, higher"


def test_what_went_out_comes_in_for_another_and_is_known_here(owner_client, page, mary, filled):
    data = filled(waist="28 3/8 in", thigh_left="57", thigh_right='22 1/2"', heel="7 cm")
    data |= {
        "note": "=tall",
        "sensitive": "on",
        "minor": "on",
        "born": "2018",
        "pregnant": "on",
        "week": "12",
        "guardian": "Ann Larkin",
    }
    owner_client.post(reverse("sheet-new", args=[mary.pk]), data)
    out = owner_client.get(reverse("sheets-csv", args=[mary.pk])).content
    preview = owner_client.post(page, {"file": SimpleUploadedFile("a.csv", out)})
    assert "Here already, left out." in preview.text
    other = ClientFactory()
    elsewhere = reverse("sheets-import", args=[other.pk])
    preview = owner_client.post(elsewhere, {"file": SimpleUploadedFile("a.csv", out)})
    assert "1 new, 0 here already." in take_in(owner_client, elsewhere, preview).text
    assert "0 new, 1 here already." in take_in(owner_client, elsewhere, preview).text
    first, second = Sheet.objects.order_by("pk")
    values = [
        {spot: (taken.mm, taken.unit) for spot, taken in taking_of(sheet).lengths.items()}
        for sheet in (first, second)
    ]
    assert values[0] == values[1]
    same = ("taken_on", "waist_at", "front_from", "heel_mm", "note", "sensitive", "minor", "born",
            "pregnant", "week")  # fmt: skip
    assert (first.pregnant, first.week) == (True, 12)
    assert [getattr(first, name) for name in same] == [getattr(second, name) for name in same]
    assert (second.client, second.guardian) == (other, "Ann Larkin")


def test_each_row_says_what_is_wrong_with_it(owner_client, page):
    preview = send(
        owner_client, page,
        "2026-11-01,2026-11-01,Where a belt settles,72,98,",
        "01/11/2026,2026-11-01,,72,,",
        "2026-11-02,,,72,,",
        "2026-11-03,2026-11-03,on the hip,72,,",
        "2026-11-04,2026-11-04,,wide,,",
        "2026-11-05,2026-11-05,,,,tall",
        "2026-11-06,2026-11-06,natural,72,38,",
        "2026-11-01,2026-11-01,natural,72.0,98,again",
    )  # fmt: skip
    wrong = {row.line: " ".join(row.problems) for row in preview.context["reading"].wrong}
    assert {line: says.split(":")[0] for line, says in wrong.items()} == {
        3: "Date",
        4: "The client agrees that these measures are kept",
        5: "Where the waist was taken",
        6: "Waist",
        7: "Write at least one measure.",
    }
    matches = {row.line: row for row in preview.context["matches"]}
    assert {line: row.here for line, row in matches.items()} == {2: False, 8: False, 9: True}
    assert [doubt.kind for doubt in matches[8].doubts] == ["unit"]
    assert not Sheet.objects.exists()
    take_in(owner_client, page, preview)
    assert Sheet.objects.count() == 2


@pytest.mark.parametrize(
    ("header", "rows", "says"),
    [
        ("Waist", ["72"], "needs a column with the heading “date”"),
        (HEADER, [], "needs a column"),
        ("Date,Date", ["1,2"], "Two columns have the same heading"),
    ],
)
def test_what_is_no_table_of_sheets(owner_client, page, header, rows, says):
    assert says in send(owner_client, page, *rows, header=header).text


def test_a_column_that_means_nothing_is_named(owner_client, page):
    preview = send(
        owner_client, page, "2026-11-01,2026-11-01,72,blue", header="Date,Agreed on,Waist,Eyes"
    )
    assert preview.context["reading"].unknown == ["eyes"]


def test_what_was_held_for_one_client_is_not_taken_for_another(owner_client, page, mary):
    preview = send(owner_client, page, "2026-11-01,2026-11-01,natural,72,98,")
    elsewhere = reverse("sheets-import", args=[ClientFactory().pk])
    assert "another client" in take_in(owner_client, elsewhere, preview).text
    assert "open for too long" in owner_client.post(page, {"held": "x"}, follow=True).text
    assert not Sheet.objects.exists()


@pytest.mark.parametrize("rows", [1, 3])
def test_the_queries(owner_client, mary, page, measured, django_assert_num_queries, rows):
    for day in range(rows):
        measured(f"2026-10-0{day + 1}", waist=70, hip=98)
    with django_assert_num_queries(6):
        owner_client.get(reverse("sheets-csv", args=[mary.pk]))
    lines = [f"2026-11-0{day + 1},2026-11-01,natural,72,98," for day in range(rows)]
    with django_assert_num_queries(9):
        send(owner_client, page, *lines)
