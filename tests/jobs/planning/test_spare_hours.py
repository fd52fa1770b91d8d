"""The page of what fits the hours, the cloth and the patterns that are there."""

import re
from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from jobs.makes.models import ClothPlan, Make, MakeState
from jobs.planning.models import BenchTime
from jobs.planning.spare_hours import printed, season_of, spare_sheet
from studio.shop import clock
from tests.factories import ClothFactory, MakeFactory, NeedFactory, PatternFactory

BENCH = 36 * 60
"""Five days of eight hours, a tenth of which is lost to other things."""

pytestmark = pytest.mark.usefixtures("monday", "studio")


def a_pattern(length="1600", width="1500", **facts):
    defaults = {"minutes": 240, "stops": False, "widest_mm": None} | facts
    pattern = PatternFactory(**defaults)
    NeedFactory(pattern=pattern, size="", width_mm=Decimal(width), length_mm=Decimal(length))
    return pattern


def a_cloth(name="Sand linen", left="1900", **facts):
    cloth = {
        "width_mm": Decimal(1500),
        "unit": "m",
        "washed": True,
        "bought_on": date(2024, 5, 1),
    }
    return ClothFactory(name=name, left_mm=Decimal(left), **(cloth | facts))


def page(client):
    return client.get(reverse("what-fits")).text


def lines(text):
    """The words of each suggestion on one line."""
    rows = re.findall(r'<li class="strip">(.*?)</li>', text, re.DOTALL)
    return [" ".join(re.sub(r"<[^>]+>", " ", row).split()) for row in rows]


def test_the_page_says_why_in_a_line(owner_client):
    """As in the worked example: 1.6 m of linen after 7 % shrinking is 1.72 of 1.9 m."""
    cloth = a_cloth(washed=False, shrink_along=Decimal(7))
    MakeFactory(words="Shell top", pattern=a_pattern(), heat=4)
    text = page(owner_client)
    assert "<strong>36 h</strong> until Sun 8 Mar: 12 h of your own hours" in text
    line = lines(text)[0]
    assert line.startswith(f"Shell top of {cloth.name} ●●●● · 4 h · takes 1.72 m of 1.9 m")
    assert "after 7 % shrinking" in line
    assert line.endswith("here since 2024")


def test_forty_centimetres_short_is_nearly(owner_client):
    plaid = a_cloth("Plaid", left="2300", one_way=False)
    make = MakeFactory(words="Wrap dress", pattern=a_pattern("2700"))
    ClothPlan.objects.create(make=make, cloth=plaid)
    line = "Wrap dress of Plaid 0.4 m short of the cloth · 4 h · takes 2.7 m of 2.3 m"
    assert lines(page(owner_client)) == [f"{line} · here since 2024"]


def test_a_make_is_held_against_the_cloth_meant_for_it_alone(studio):
    meant = a_cloth("Blue wool")
    a_cloth("Older wool", bought_on=date(2015, 1, 1))
    make = MakeFactory(words="Skirt", pattern=a_pattern(), heat=2)
    ClothPlan.objects.create(make=make, cloth=meant, mm=Decimal(1200), typed="1.2 m")
    row = spare_sheet(studio).fits[0]
    assert (row.cloth, row.takes, row.left) == (meant, "1.2 m", "1.9 m")


def test_what_is_promised_to_another_make_is_said(owner_client):
    cloth = a_cloth()
    other = MakeFactory(words="Red coat", state=MakeState.UNDER_WAY)
    ClothPlan.objects.create(make=other, cloth=cloth, mm=Decimal(1200), typed="1.2 m")
    MakeFactory(words="Shell top", pattern=a_pattern())
    assert lines(page(owner_client))[0].endswith("· 1.2 m for Red coat")


def test_one_way_cloth_says_what_is_to_spare(owner_client):
    """By hand: 1.6 m and a quarter of a yard, 0.2286 m, of 1.9 m leave 0.0714 m."""
    a_cloth(one_way=True)
    MakeFactory(words="Shell top", pattern=a_pattern())
    assert "takes 1.83 m of 1.9 m · one way, 0.07 m to spare" in lines(page(owner_client))[0]


def test_yards_are_said_in_yards(owner_client):
    """60 in cloth of 2 1/2 yd and a pattern that asks for 2 1/8 yd at 60 in."""
    inch, yard = Decimal("25.4"), Decimal("914.4")
    a_cloth(left=2 * yard + yard / 2, width_mm=60 * inch, unit="yd")
    MakeFactory(pattern=a_pattern(2 * yard + yard / 8, width=60 * inch))
    assert "takes 2 1/8 yd of 2 1/2 yd" in lines(page(owner_client))[0]


def test_minutes_sewn_already_are_not_sewn_again(owner, studio):
    make = MakeFactory(pattern=a_pattern(), minutes=300)
    a_cloth()
    BenchTime.objects.create(purpose="own", make=make, minutes=90, started_at=clock.now(), by=owner)
    assert spare_sheet(studio).fits[0].minutes == 210


def test_free_hours_are_what_clients_leave(studio, ticket):
    """The ticket's hour and a half has its place in this week's plan."""
    sheet = spare_sheet(studio)
    work = sum(line.minutes_each for line in ticket.garments.get().lines.all())
    assert sheet.own == 720
    assert sheet.free == BENCH - work


def test_longer_than_the_hours_that_are_free(studio):
    a_cloth()
    MakeFactory(words="Coat", pattern=a_pattern(minutes=BENCH + 45))
    sheet = spare_sheet(studio)
    assert [(row.title, row.short_minutes) for row in sheet.nearly] == [("Coat", 45)]
    assert sheet.fits == []


def test_five_at_most_and_one_of_each(studio):
    for n in range(2):
        a_cloth(f"Linen {n}", left="9000")
    for n in range(7):
        MakeFactory(words=f"Make {n}", pattern=a_pattern(), heat=n % 5 + 1)
    sheet = spare_sheet(studio)
    assert [row.make.heat for row in sheet.fits] == [5, 4, 3, 2, 2]
    assert len({row.title for row in sheet.fits}) == 5
    assert len(sheet.unlinked) == 5


def test_a_pair_nobody_thought_of_becomes_an_idea(owner_client, studio):
    pattern, cloth = a_pattern(name="Pyjama trousers", stops=True), a_cloth()
    text = page(owner_client)
    sent = dict(re.findall(r'name="(form_key|words|pattern|cloth)" value="([^"]*)"', text))
    assert sent["words"] == "Pyjama trousers of Sand linen"
    for _ in range(2):
        owner_client.post(reverse("idea-new"), sent)
    make = Make.objects.get()
    assert (make.pattern, list(make.cloths.all()), make.state) == (pattern, [cloth], MakeState.IDEA)
    assert make.wear_by is None
    sheet = spare_sheet(studio)
    assert sheet.unlinked == []
    assert [row.title for row in sheet.fits] == ["Pyjama trousers of Sand linen"]


def test_what_is_under_way_or_put_away_is_not_suggested(studio):
    a_cloth()
    for state in (MakeState.UNDER_WAY, MakeState.FINISHED, MakeState.LET_GO):
        MakeFactory(state=state, pattern=a_pattern())
    assert spare_sheet(studio).fits == []


def test_an_empty_shelf_says_what_to_write_down(owner_client):
    text = page(owner_client)
    assert "this page says what goes together" in text
    assert lines(text) == []


def test_the_size_that_is_cut_counts():
    pattern = a_pattern("1600", size="42")
    NeedFactory(pattern=pattern, size="42", width_mm=Decimal(1400), length_mm=Decimal(2000))
    NeedFactory(pattern=pattern, size="50", width_mm=Decimal(1400), length_mm=Decimal(2400))
    assert [(need.width, need.length) for need in printed(pattern)] == [(1400, 2000), (1500, 1600)]
    pattern.size = ""
    assert [(need.width, need.length) for need in printed(pattern)] == [(1400, 2400), (1500, 1600)]


@pytest.mark.parametrize(
    ("day", "country", "season"),
    [
        (date(2026, 12, 1), "IE", "winter"),
        (date(2026, 2, 28), "IE", "winter"),
        (date(2026, 3, 1), "IE", "spring"),
        (date(2026, 8, 31), "IE", "summer"),
        (date(2026, 9, 1), "IE", "autumn"),
        (date(2026, 12, 1), "NZ", "summer"),
        (date(2026, 6, 1), "NZ", "winter"),
    ],
)
def test_seasons_are_whole_months(day, country, season):
    assert season_of(day, country) == season


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_asks_the_database_as_often_for_any_number(
    owner_client, django_assert_num_queries, count
):
    for n in range(count):
        cloth = a_cloth(f"Linen {n}")
        make = MakeFactory(pattern=a_pattern(), form_key=uuid4())
        ClothPlan.objects.create(make=make, cloth=cloth)
    with django_assert_num_queries(19):
        page(owner_client)


def test_a_helper_reads_whose_hours_they_are(helper_client):
    assert "12 h of the owner&#x27;s hours" in page(helper_client)
