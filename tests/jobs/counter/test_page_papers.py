"""Today, the week and the year as papers. What stands on them is compared with the rows by hand."""

import re
from datetime import time, timedelta
from itertools import pairwise

import pytest
from django.urls import reverse

from jobs.billing.sealed_book import last_seal
from jobs.planning import actions as planning
from jobs.planning.plan.book import monday_of
from jobs.tickets import actions
from studio.shop import clock
from studio.shop.models import Profile
from studio.shop.paper import drawings
from tests import factories as f
from tests import papers, proofreading
from tests.drafts import hem, paid, received, take_in, trousers
from tests.thorough import thinned

LONG = "Wilhelmina " * 10


def address(name):
    monday = monday_of(clock.today())
    asked = {"paper-week": [monday.isoformat()], "paper-year": [clock.today().year]}
    return reverse(name, args=asked.get(name, []))


@pytest.fixture
def fetch(owner_client):
    def get(name, client=owner_client):
        with papers.no_complaints():
            return client.get(address(name)).content

    return get


@pytest.fixture
def full(wednesday, studio, owner):
    """Two to sew, one ready of 24.00 with 10.00 paid, a fitting today at 15:00."""
    today = clock.at(clock.today(), time(17))
    sewn = received(studio, owner, trousers(take_in(), hem()), promise_at=today)
    received(studio, owner, trousers(hem(), kind_name="Dress", colour="plum"))
    ready = received(studio, owner, trousers(hem(), kind_name="Skirt", hangs="rail 2"))
    paid(studio, owner, ready, amount=1000)
    actions.tick_all(ticket=ready, by=owner)
    actions.mark_ready(ticket=ready, by=owner)
    at = clock.at(clock.today(), time(15))
    planning.book_fitting(
        ticket=sewn, starts_at=at, minutes=30, kind="first", studio=studio, by=owner
    )
    return sewn, ready


def test_today_tells_what_is_to_do_and_what_is_to_pay(fetch, full, studio, helper_client):
    sewn, ready = full
    text = papers.text(fetch("paper-today"))
    for words in (
        "Wednesday 11 March", studio.name, "printed Wed 11 Mar 2026, 10:30",
        "Trousers, navy", f"{sewn.number} {sewn.client.name}: Take in sides",
        "First fitting", "15:00", f"{ready.number}", "rail 2", "€14.00",
    ):  # fmt: skip
        assert words in text, words
    helper = papers.text(fetch("paper-today", helper_client))
    assert "€" not in helper
    assert "rail 2" in helper


@pytest.mark.parametrize("rows", [1, 3])
@pytest.mark.parametrize(
    ("name", "queries"), [("paper-today", 21), ("paper-week", 15), ("paper-year", 23)]
)
def test_queries_do_not_grow(
    wednesday, owner_client, studio, owner, rows, name, queries, django_assert_num_queries
):
    for _ in range(rows):
        received(studio, owner, trousers(), trousers(take_in()))
        done = received(studio, owner)
        actions.tick_all(ticket=done, by=owner)
        actions.mark_ready(ticket=done, by=owner)
        f.BenchTimeFactory(started_at=clock.now() - timedelta(days=1), minutes=30)
    with django_assert_num_queries(queries):
        owner_client.get(address(name))


def test_the_week_is_to_scale(owner_client, full, studio):
    """On one scale: parts of a day are as high as they are long, but none too low for a line."""
    response = owner_client.get(address("paper-week"))
    text = papers.text(response.content)
    assert "Week of Mon 9 Mar 2026" in text
    for day in ("Mon 9 Mar", "Wed 11 Mar", "Sun 15 Mar"):
        assert day in text
    assert "15:00 " in text
    high = {
        minutes: float(re.search(r'height="([\d.]+)mm"', svg.decode())[1])
        for minutes, svg in (
            (60, drawings.strut_svg("own", 30)),
            (30, drawings.strut_svg("own", 15)),
        )
    }
    assert high == {60: 30.0, 30: 15.0}
    assert owner_client.get("/week/2026-02-30.pdf").status_code == 404
    assert owner_client.get("/week/1999-01-04.pdf").status_code == 404


def test_the_year_has_its_table_beside_its_chart(wednesday, fetch, studio, owner):
    """90 minutes for a client in March, 45 of own sewing: 1 h 30 + 45 min = 2 h 15."""
    at = clock.now() - timedelta(days=2)
    f.BenchTimeFactory(started_at=at, minutes=90)
    f.BenchTimeFactory(started_at=at, minutes=45, purpose="own", line=None)
    text = papers.text(fetch("paper-year"))
    assert re.search(r"March 1 h 30 45 min 0 min 2 h 15", text)
    assert re.search(r"In all 1 h 30 45 min 0 min 2 h 15", text)
    assert "printed Wed 11 Mar 2026" in text


@pytest.mark.paper
@pytest.mark.parametrize("size", thinned(["A4", "Letter", "A5"], {"A5"}.__contains__))
def test_nothing_is_cut_off_or_printed_over(fetch, owner_client, studio, owner, size):
    Profile.objects.update(paper=size, name=LONG[:110], currency="IQD")
    studio.refresh_from_db()
    client = f.ClientFactory(name=LONG * 2)
    piece = trousers(take_in(name="W" * 70), hem(), kind_name="W" * 60, colour="ivory " * 10)
    for _ in range(4):
        last = received(
            studio, owner, piece, piece, client=client, promise_at=clock.now() + timedelta(2)
        )
    paid(studio, owner, last, amount=1000)
    across = {"A4": "A4-folded", "Letter": "Letter-folded", "A5": "A5-across"}[size]
    for name in ("paper-today", "paper-week", "paper-year"):
        pdf = fetch(name)
        page = across if name == "paper-week" else size
        assert proofreading.faults(pdf, page, usual=True) == [], name
        if name == "paper-week":
            assert len(papers.texts(pdf)) == 1
    # The last of them is the year's.
    assert last_seal().shown in papers.text(pdf)


def luminance(colour):
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_tones_differ_in_grey():
    """Plain ones have a contrast of 1.3 : 1 to each other (common practice); others are striped."""
    plain = sorted(
        {luminance(tone) for kind, tone in drawings.TONES.items()
         if kind not in drawings.STRIPES and not kind.startswith("coin")}
    )  # fmt: skip
    steps = pairwise(plain)
    assert all((light + 0.05) / (dark + 0.05) >= 1.3 for dark, light in steps)


def test_each_page_leads_to_its_paper(owner_client, studio, full):
    for page, name in (("today", "paper-today"), ("week", "paper-week"), ("year", "paper-year")):
        assert f'href="{address(name)}"' in owner_client.get(reverse(page)).text
