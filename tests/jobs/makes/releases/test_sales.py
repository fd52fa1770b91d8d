"""Copies sold: by hand and out of a file, which counts once however often it comes."""

from datetime import date, datetime
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.makes.models import Sale
from jobs.makes.releases import actions
from jobs.makes.releases.sales_file import read_sales
from studio.shop import clock
from tests import factories as f
from tests.jobs.planning.pages import beside, notices, words

FILE = "day,copies,without tax\n2026-03-01,2,18.00\n2026-03-02,1,9.00\n2026-03-02,1,9.00\n"


@pytest.fixture(autouse=True)
def _a_day_in_march(studio):
    with clock.pretend(datetime(2026, 3, 5, 12, tzinfo=ZoneInfo("Europe/Dublin"))):
        yield


@pytest.fixture
def release(studio):
    return f.ReleaseFactory(name="Wrap skirt")


def look(client, release, text: str):
    file = SimpleUploadedFile("sales.csv", text.encode(), "text/csv")
    return client.post(reverse("sales-import", args=[release.pk]), {"file": file})


def bring_in(client, release, text: str):
    held = look(client, release, text).context["held"]
    return client.post(reverse("sales-import", args=[release.pk]), {"held": held}, follow=True)


def sold(release) -> list[tuple]:
    return sorted(release.sales.values_list("day", "copies", "net"))


THREE = [(date(2026, 3, 1), 2, 1800), (date(2026, 3, 2), 1, 900), (date(2026, 3, 2), 1, 900)]


def test_looking_adds_nothing_and_says_what_it_would_add(owner_client, release):
    page = words(look(owner_client, release, FILE).text)
    assert "New rows 3 Here already 0 Copies 4 Without tax €36.00" in page
    assert not Sale.objects.exists()


def test_a_file_is_brought_in_and_the_same_file_again_counts_once(owner_client, release):
    assert "Brought in: 3 rows" in notices(bring_in(owner_client, release, FILE))[0]
    assert sold(release) == THREE
    page = words(look(owner_client, release, FILE).text)
    assert "New rows 0 Here already 3" in page
    assert "All of it is here already." in page


def test_the_button_pressed_twice_counts_once(owner_client, release):
    sent = {"held": look(owner_client, release, FILE).context["held"]}
    for _ in range(2):
        owner_client.post(reverse("sales-import", args=[release.pk]), sent)
    assert sold(release) == THREE


@pytest.mark.postgres
def test_rows_looked_at_before_the_first_press_add_nothing_after_it(release, studio, owner):
    looks = [read_sales(FILE, studio).rows for _ in range(2)]
    first, second = (
        actions.import_sales(release=release, rows=rows, studio=studio, by=owner) for rows in looks
    )
    assert (first.parameters["rows"], second) == ("3 rows", None)
    assert sold(release) == THREE


def test_what_was_held_for_one_release_is_not_taken_for_another(owner_client, release):
    held = look(owner_client, release, FILE).context["held"]
    other = reverse("sales-import", args=[f.ReleaseFactory().pk])
    owner_client.post(other, {"held": held})
    owner_client.post(other, {"held": "day,copies,without tax"})
    assert not Sale.objects.exists()


def test_a_longer_file_adds_only_what_is_new(owner_client, release):
    bring_in(owner_client, release, FILE)
    longer = FILE + "2026-03-02,1,9.00\n2026-03-03,5,45.00\n"
    bring_in(owner_client, release, longer)
    assert sold(release) == [*THREE[:2], *[THREE[2]] * 2, (date(2026, 3, 3), 5, 4500)]


def test_another_release_may_have_the_same_rows(owner_client, release):
    other = f.ReleaseFactory()
    for either in (release, other):
        bring_in(owner_client, either, FILE)
        assert sold(either) == THREE


def test_other_columns_delimiters_and_money_that_went_back(owner_client, release):
    text = "Net Amount;Buyer;DAY;copies\n-9,00;Ada;2026-03-04;-1\n1 234,50;Eve;2026-03-04;137\n"
    bring_in(owner_client, release, text)
    assert sold(release) == [(date(2026, 3, 4), -1, -900), (date(2026, 3, 4), 137, 123_450)]


@pytest.mark.parametrize(("currency", "cell", "minor"), [("JPY", "900", 900), ("KWD", "2.5", 2500)])
def test_money_has_the_decimals_of_its_currency(
    owner_client, release, studio, currency, cell, minor
):
    """ISO 4217: the yen has no minor unit, the Kuwaiti dinar three decimals."""
    studio.currency = currency
    studio.save()
    bring_in(owner_client, release, f"day,copies,without tax\n2026-03-04,1,{cell}\n")
    assert release.sales.get().net == minor


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("04/03/2026,1,9", "day: write the day as 2026-03-31, not “04/03/2026”."),
        ("2999-01-01,1,9", "day: this day is still to come."),
        (",1,9", "day: write the day as 2026-03-31, not “”."),
        ("2026-03-04,1.5,9", "copies: write a whole number, not “1.5”."),
        ("2026-03-04,1234567,9", "copies: write a whole number, not “1234567”."),
        ("2026-03-04,,9", "copies: write a whole number, not “”."),
        ("2026-03-04,1,nine", "without tax: Write an amount in EUR, such as 24.50."),
        ("2026-03-04,1,99999999", "without tax: that is more money than copies can bring."),
    ],
)
def test_a_row_that_is_not_understood_stops_the_file(owner_client, release, row, problem):
    page = look(owner_client, release, f"day,copies,without tax\n2026-03-01,1,9\n{row}\n")
    assert f"Line 3 {problem}" in words(page.text)
    assert "Import" not in page.text
    assert not page.context["held"]
    assert not Sale.objects.exists()


def test_all_that_is_wrong_with_a_row_is_said_at_once(owner_client, release):
    page = words(look(owner_client, release, "day,copies,without tax\nx,y,z\n").text)
    for column in ("day", "copies", "without tax"):
        assert f"Line 2 {column}: " in page


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("day,copies\n2026-03-01,1\n", "Missing: without tax."),
        ("when,how many\n2026-03-01,1\n", "Missing: day, copies, without tax."),
        ("day,copies,without tax\n", "Missing: day, copies, without tax."),
        ("", "The file is empty."),
    ],
)
def test_a_file_without_its_columns_says_which(owner_client, release, text, why):
    assert why in beside(look(owner_client, release, text), "file")


def test_no_file_at_all(owner_client, release):
    page = owner_client.post(reverse("sales-import", args=[release.pk]), {})
    assert beside(page, "file") == "Choose a file."


def write(client, release, **typed):
    sent = {"day": "2026-03-04", "copies": "3", "net": "27", "form_key": str(uuid4())} | typed
    return client.post(reverse("sales", args=[release.pk]), sent)


def test_a_sale_by_hand_is_listed_and_taken_off(owner_client, release):
    assert write(owner_client, release).status_code == 302
    write(owner_client, release, copies="-1", net="-9.00")
    assert sold(release) == [(date(2026, 3, 4), -1, -900), (date(2026, 3, 4), 3, 2700)]
    address = reverse("sales", args=[release.pk])
    page = owner_client.get(address)
    assert "Wed 4 Mar 2026 -1 -€9.00 Remove" in words(page.text)
    assert "Wed 4 Mar 2026 3 €27.00 Remove" in words(page.text)
    owner_client.post(reverse("sale-off", args=[release.sales.get(copies=-1).pk]))
    assert "-€9.00" not in owner_client.get(address).text


@pytest.mark.postgres
@pytest.mark.parametrize(
    ("intent", "rows"), [("change", [(4, 3600)]), ("another", [(3, 2700), (4, 3600)])]
)
def test_a_sale_changed_on_a_page_that_was_sent_is_asked_about(owner_client, release, intent, rows):
    key = str(uuid4())
    write(owner_client, release, form_key=key)
    page = write(owner_client, release, form_key=key, copies="4", net="36")
    assert page.status_code == 200
    assert "This form was already saved: 3 on Wed 4 Mar 2026, €27.00" in words(page.text)
    assert "What you changed since is not saved: Copies; Without tax." in words(page.text)
    assert 'name="copies" value="4"' in page.text
    assert release.sales.count() == 1
    write(owner_client, release, form_key=key, copies="4", net="36", intent=intent)
    assert sorted(release.sales.values_list("copies", "net")) == rows


@pytest.mark.parametrize("heading", ["without tax", "net amount", "Net amount"])
def test_a_file_of_an_earlier_version_is_read_as_todays_are(owner_client, release, heading):
    """Version 0.1.0 called the column *net amount*; under both headings a row is the same row."""
    assert "Brought in: 3 rows" in notices(bring_in(owner_client, release, FILE))[0]
    other = FILE.replace("without tax", heading) + "2026-03-03,1,9.00\n"
    assert "New rows 1 Here already 3" in words(look(owner_client, release, other).text)
    bring_in(owner_client, release, other)
    assert sold(release) == [*THREE, (date(2026, 3, 3), 1, 900)]


def test_a_heading_that_no_version_had_is_named(owner_client, release):
    page = words(look(owner_client, release, FILE.replace("without tax", "net")).text)
    assert "without tax" in page
    assert "New rows" not in page


@pytest.mark.parametrize(
    ("field", "typed", "why"),
    [
        ("day", "2999-01-01", "This day is still to come."),
        ("copies", "many", "Enter a whole number."),
        ("net", "", "This field is required."),
        ("net", "nine", "Write an amount in EUR"),
        ("net", "99999999", "more money than a price can be"),
        ("net", "-99999999", "more money than a price can be"),
        ("form_key", "", "This page is too old."),
    ],
)
def test_a_sale_that_is_not_understood_says_so(owner_client, release, field, typed, why):
    page = write(owner_client, release, **{field: typed})
    assert why in page.text
    assert not Sale.objects.exists()


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_asks_the_database_as_often_for_any_number(
    owner_client, release, django_assert_num_queries, count
):
    f.SaleFactory.create_batch(count, release=release)
    # Login (2), the studio, the release, how many sales, the sales.
    with django_assert_num_queries(6):
        owner_client.get(reverse("sales", args=[release.pk]))
