"""The year's page: what was made, cloth, hours and money, each number with its rows."""

import csv
import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.urls import reverse

from studio.shop import clock
from tests import factories as f
from tests.drafts import gone, hem, issued, received, take_in, trousers
from tests.jobs.counter.year.making import at, finished, photograph
from tests.jobs.planning.pages import words


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


def test_each_number_leads_to_as_many_pictures(owner_client):
    for number in range(6):
        finished(date(2026, 3, 1 + number), number)
    page = get(owner_client)
    for name in ("kind", "whom", "fate"):
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
    assert "Let go: Tweed cape ." in text
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
def handed_over(studio, owner):
    """Hems of 24.00 and sides of 30.00, tax included; the first ticket is invoiced, another is
    handed over without an invoice, and one that is invoiced is still here."""
    kept = received(studio, owner, trousers(hem(), hem(), take_in()))
    issued(studio, owner, gone(kept))
    other = gone(received(studio, owner, trousers(hem())))
    issued(studio, owner, received(studio, owner, trousers(hem())))
    return kept, other


def test_income_is_what_was_handed_over_with_what_of_it_is_invoiced(owner_client, handed_over):
    """78.00 / 1.135 = 68.72 and 24.00 / 1.135 = 21.15 without tax; only the first is invoiced."""
    page = get(owner_client)
    income = page.context["sheet"].income
    assert {row.name: row.pieces for row in income.operations} == {"Hem": 3, "Take in sides": 1}
    assert sum(row.net for row in income.operations) == income.gone.net == 6872 + 2115
    told = "In all €89.87 Of that invoiced €68.72 Not invoiced €21.15"
    assert told in part(page, "income")
    assert "at the prices agreed, invoiced or not" in part(page, "income")
    assert page.context["sheet"].years[0].gone == income.gone


def test_year_money_and_ledger_say_the_same(owner_client, handed_over):
    assert "€89.87" in words(owner_client.get(reverse("money")).text)
    file = owner_client.get("/money/ledger.csv?from=2026-01-01&to=2026-12-31")
    rows = csv.DictReader(file.content.decode("utf-8-sig").splitlines())
    assert sum(Decimal(row["handed over"] or 0) for row in rows) == Decimal("89.87")


def test_a_sum_leads_to_the_lines_it_is_made_of(owner_client, handed_over):
    page = get(owner_client)
    link = re.search(r'href="([^"]*\?what=Hem)"', page.text)[1]
    rows = owner_client.get(link).context["table"].data
    assert [row.name for row in rows] == ["Hem"] * 3
    assert sum(row.net for row in rows) == page.context["sheet"].income.operations[0].net
    everything = owner_client.get(reverse("year-income", args=[2026]))
    assert everything.context["net"] == 8987


def test_the_helper_sees_everything_but_money(helper_client, handed_over):
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
def test_a_year_takes_twenty_queries(owner_client, studio, owner, rows, django_assert_num_queries):
    for number in range(rows):
        make = finished(date(2026, 3, 1 + number), number)
        make.pictures.add(f.PictureFactory())
        f.ClothFactory()
        f.BenchTimeFactory(started_at=clock.now() - timedelta(days=number))
        f.HoursTakenFactory(monday=date(2026, 3, 2))
        gone(issued(studio, owner).ticket)
    get(owner_client)
    with django_assert_num_queries(24):
        get(owner_client)


@pytest.mark.parametrize("rows", [1, 3])
@pytest.mark.parametrize(("name", "queries"), [("year-hours", 4), ("year-income", 5)])
def test_rows_take_so_many_queries(
    owner_client, studio, owner, rows, name, queries, django_assert_num_queries
):
    for number in range(rows):
        f.BenchTimeFactory(started_at=clock.now() - timedelta(weeks=number))
        gone(issued(studio, owner).ticket)
    with django_assert_num_queries(queries):
        page = owner_client.get(reverse(name, args=[2026]))
    assert len(page.context["table"].data) == rows


def _table(page, section: str) -> dict[str, list[str]]:
    """The rows of the table behind a chart, by month."""
    html = re.search(rf'aria-labelledby="{section}".*?<tbody>(.*?)</tbody>', page.text, re.DOTALL)
    rows = re.findall(r"<tr>(.*?)</tr>", html[1], re.DOTALL)
    cells = (re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL) for row in rows)
    return {words(row[0]): [words(cell) for cell in row[1:]] for row in cells}


def test_charts_of_the_year_are_as_tall_as_the_figures_behind_them(owner_client, studio, owner):
    """Hours by purpose, what was made, what was taken: each block by hand, beside its table."""
    noon = at(date(2026, 3, 2))
    f.BenchTimeFactory(started_at=noon, minutes=90)
    f.BenchTimeFactory(purpose="own", line=None, started_at=noon, minutes=30)
    finished(date(2026, 3, 3))
    finished(date(2026, 5, 4))
    finished(date(2026, 5, 5))
    ticket = received(studio, owner)
    f.PaymentFactory(ticket=ticket, amount=1200, method="card", day=date(2026, 2, 3))
    f.PaymentFactory(ticket=ticket, amount=300, method="cash", day=date(2026, 4, 3))
    page = get(owner_client)
    sheet = page.context["sheet"]
    heights = [(block.kind, block.height) for block in sheet.hours.blocks]
    assert heights == [("clients", "75.00%"), ("own", "25.00%")]
    assert _table(page, "hours")["March"] == ["1 h 30", "30 min", "0 min"]
    assert [block.height for block in sheet.finished.blocks] == ["50.00%", "100.00%"]
    assert _table(page, "finished")["May"] == ["2"]
    assert [block.height for block in page.context["taken"].blocks] == ["100.00%", "25.00%"]
    assert _table(page, "takings") == {
        "February": ["€12.00", "€0.00", "€0.00", "€12.00"],
        "April": ["€0.00", "€3.00", "€0.00", "€3.00"],
    }
