"""The year's page: what was made, cloth, hours and money, each number with its rows."""

import re
from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from jobs.billing.actions import credit_invoice
from jobs.billing.models import Invoice
from studio.shop import clock
from tests import factories as f
from tests.drafts import hem, issued, received, take_in, trousers
from tests.jobs.counter.year.making import at, finished, photograph
from tests.jobs.planning.pages import words

pytestmark = pytest.mark.postgres


@pytest.fixture(autouse=True)
def _november(studio):
    with time_machine.travel("2026-11-25 09:30Z", tick=False):
        yield


def part(page, ident: str) -> str:
    html = re.search(rf'<section[^>]*aria-labelledby="{ident}".*?</section>', page.text, re.DOTALL)
    assert html, f"There is no {ident} on the page."
    return words(html[0])


def get(client, year=2026, **asked):
    return client.get(reverse("year-of", args=[year]), asked)


def test_what_was_made_is_told_by_kind_by_person_and_by_fate(owner_client):
    for number in range(6):
        finished(date(2026, 3, 1 + number), number)
    finished(date(2025, 12, 31))
    f.MakeFactory(state="under_way")
    sheet = get(owner_client).context["sheet"]
    assert sheet.made == 6
    assert [(row.words, row.count) for row in sheet.kinds] == [
        ("Dress", 2), ("Skirt", 2), ("Bag", 1), ("Shirt", 1),
    ]  # fmt: skip
    assert [(row.words, row.count) for row in sheet.whoms] == [
        ("me", 2), ("my sister", 2), ("Not said", 2),
    ]  # fmt: skip
    assert [(row.words, row.count) for row in sheet.fates] == [
        ("Worn often", 2), ("Worn rarely", 2), ("Given away", 1), ("Not said", 1),
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["kind", "whom", "fate"])
def test_each_number_leads_to_as_many_pictures(owner_client, name):
    for number in range(6):
        finished(date(2026, 3, 1 + number), number)
    page = get(owner_client)
    links = re.findall(rf'href="([^"]*\?{name}=[^"]*)#made">(\d+)', page.text)
    assert len(links) >= 3
    for link, count in links:
        assert len(owner_client.get(link).context["sheet"].shown) == int(count)


def test_pictures_lead_to_their_makes(owner_client):
    make = finished(date(2026, 3, 1))
    make.pictures.add(picture := photograph(1, size=(30, 20)))
    page = get(owner_client)
    assert f'href="{make.get_absolute_url()}"><img src="{picture.get_absolute_url()}"' in page.text


def test_cloth_in_and_out_and_on_the_shelf(owner_client):
    cloth = f.ClothFactory()
    moved = {"cloth": cloth, "typed": "-", "day": date(2026, 2, 1)}
    f.ClothMoveFactory(why="cut", mm=Decimal(-1350), **moved)
    f.ClothMoveFactory(why="back", mm=Decimal(100), **moved)
    cloth.left_mm = 1750
    cloth.save()
    card = part(get(owner_client), "cloth")
    assert "Came in 3 m Went out 1.25 m" in card
    assert "1 length 1.75 m" in card


def test_inches_see_yards(studio, owner_client):
    studio.unit = "in"
    studio.save()
    f.ClothFactory(left_mm=Decimal("914.4"))
    assert "Came in 1 yd" in part(get(owner_client), "cloth")


def test_let_go_and_published_are_named_and_not_counted(owner_client):
    f.MakeFactory(state="let_go", words="Tweed cape", let_go_at=at(date(2026, 5, 5)))
    f.MakeFactory(state="let_go", words="Older cape", let_go_at=at(date(2025, 5, 5)))
    f.ReleaseFactory(name="Barn jacket", published_on=date(2026, 6, 1))
    text = words(get(owner_client).text)
    assert "Let go, with thanks: Tweed cape ." in text
    assert "Published: Barn jacket ." in text
    assert "Older cape" not in text


def test_what_client_work_took_leads_to_the_ledger(owner_client):
    f.HoursTakenFactory(monday=date(2026, 3, 2), minutes=90)
    f.HoursTakenFactory(monday=date(2026, 4, 6), minutes=30)
    f.HoursTakenFactory(monday=date(2025, 4, 7), minutes=600)
    page = get(owner_client)
    assert "Client work took 2 h that were kept for own sewing, for 2 tickets." in part(
        page, "hours"
    )
    assert f'href="{reverse("own-hours")}?year=2026#ledger"' in page.text


@pytest.fixture
def invoiced(studio, owner):
    """Two tickets: hems of 24.00 and a pair of sides of 30.00, tax included; one is credited."""
    kept = issued(studio, owner, received(studio, owner, trousers(hem(), hem(), take_in())))
    gone = issued(studio, owner, received(studio, owner, trousers(hem())))
    credit_invoice(invoice=gone, why="Twice", by=owner, studio=studio, form_key=uuid4())
    return kept


def test_income_is_what_was_invoiced_less_what_was_credited(owner_client, invoiced):
    income = get(owner_client).context["sheet"].income
    lines = invoiced.data["lines"]
    assert {row.name: (row.pieces, row.net) for row in income.operations} == {
        "Hem": (2, sum(line["net"] for line in lines if line["name"] == "Hem")),
        "Take in sides": (1, lines[2]["net"] if lines[2]["name"] != "Hem" else lines[0]["net"]),
    }
    assert income.net == invoiced.net == sum(Invoice.objects.values_list("net", flat=True))


def test_a_sum_leads_to_the_lines_it_is_made_of(owner_client, invoiced):
    page = get(owner_client)
    link = re.search(r'href="([^"]*\?what=Hem)"', page.text)[1]
    rows = owner_client.get(link).context["table"].data
    assert [row.name for row in rows] == ["Hem"] * 4
    assert sum(row.net for row in rows) == page.context["sheet"].income.operations[0].net
    everything = owner_client.get(reverse("year-income", args=[2026]))
    assert everything.context["net"] == invoiced.net


def test_the_helper_sees_everything_but_money(helper_client, invoiced):
    f.HoursTakenFactory(monday=date(2026, 3, 2), minutes=90)
    page = get(helper_client)
    assert page.context["sheet"].income is None
    assert "€" not in page.text
    assert reverse("own-hours") not in page.text
    assert "Client work took 1 h 30" in words(page.text)


def test_only_the_last_five_years_and_only_those_with_something_in_them(owner_client):
    for year in (2019, 2021, 2022, 2024):
        finished(date(year, 7, 1))
    years = get(owner_client, 2025).context["sheet"].years
    assert [(row.year, row.made) for row in years] == [(2025, 0), (2024, 1), (2022, 1), (2021, 1)]


def test_most_of_it_in_the_best_month(owner_client):
    for day, minutes in [("2026-02-03", 70), ("2026-04-01", 60), ("2026-04-30", 61)]:
        f.BenchTimeFactory(
            line=None, purpose="own", minutes=minutes, started_at=at(date.fromisoformat(day))
        )
    f.BenchTimeFactory(minutes=191, started_at=at(date(2026, 2, 4)))
    assert (
        "3 h 11 at the bench for yourself: 50 % of 6 h 22. Most of it in April, 2 h 01."
        in words(get(owner_client).text)
    )


@pytest.mark.parametrize("year", [1999, 2027])
@pytest.mark.parametrize("name", ["year-of", "year-hours", "year-income", "journal"])
def test_years_to_come_and_before_all_years_are_not_found(owner_client, name, year):
    assert owner_client.get(reverse(name, args=[year])).status_code == 404


@pytest.mark.parametrize("rows", [1, 3])
def test_a_year_takes_eighteen_queries(
    owner_client, studio, owner, rows, django_assert_num_queries
):
    for number in range(rows):
        make = finished(date(2026, 3, 1 + number), number)
        make.pictures.add(f.PictureFactory())
        f.ClothFactory()
        f.BenchTimeFactory(started_at=clock.now() - timedelta(days=number))
        f.HoursTakenFactory(monday=date(2026, 3, 2))
        issued(studio, owner)
    get(owner_client)
    with django_assert_num_queries(18):
        get(owner_client)


@pytest.mark.parametrize("rows", [1, 3])
@pytest.mark.parametrize("name", ["year-hours", "year-income"])
def test_rows_take_four_queries(owner_client, studio, owner, rows, name, django_assert_num_queries):
    for number in range(rows):
        f.BenchTimeFactory(started_at=clock.now() - timedelta(weeks=number))
        issued(studio, owner)
    with django_assert_num_queries(4):
        page = owner_client.get(reverse(name, args=[2026]))
    assert len(page.context["table"].data) == rows
