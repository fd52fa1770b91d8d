"""The page of what fits the hours, the cloth and the patterns that are there."""

import re
from datetime import UTC, date, datetime
from decimal import Decimal
from random import Random
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from jobs.makes.by_sheet import by_sheet
from jobs.makes.models import ClothPlan, MadeFor, Make, MakeState
from jobs.makes.wishes import cloth_meant, printed
from jobs.planning.bench_time import Learned, learned_minutes
from jobs.planning.models import BenchTime
from jobs.planning.own.spare_hours import spare_sheet
from studio.shop import clock
from tests.factories import (
    BenchTimeFactory,
    ClientFactory,
    ClothFactory,
    FurtherPatternFactory,
    MakeFactory,
    MeasuredFactory,
    NeedFactory,
    PatternFactory,
    SheetFactory,
)
from tests.pages import page_of

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


def flat(cloths):
    return [row for cloth in cloths for row in cloth.ideas]


def page(client):
    return client.get(reverse("what-fits")).text


def lines(text):
    """The words of each suggestion on one line."""
    rows = re.findall(r'<li class="strip">(.*?)</li>', text, re.DOTALL)
    return [" ".join(re.sub(r"<[^>]+>", " ", row).split()) for row in rows]


def test_the_page_says_why_in_a_line(owner_client):
    """1.6 m of linen after 7 % shrinking is 1.7204 m: 1.73 m are cut, of 1.9 m."""
    cloth = a_cloth(washed=False, shrink_along=Decimal(7))
    MakeFactory(words="Shell top", pattern=a_pattern(), heat=4)
    text = page(owner_client)
    assert "<strong>36 h</strong> until Sun 8 Mar: 12 h of your own hours" in text
    line = lines(text)[0]
    assert line.startswith(f"Shell top of {cloth.name} ●●●● · 4 h · takes 1.73 m of 1.9 m")
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
    row = flat(spare_sheet(studio).finish)[0]
    assert (row.cloth, row.takes, row.left) == (meant, "1.2 m", "1.9 m")


def test_what_is_promised_to_another_make_is_said(owner_client):
    cloth = a_cloth()
    other = MakeFactory(words="Red coat", state=MakeState.UNDER_WAY)
    ClothPlan.objects.create(make=other, cloth=cloth, mm=Decimal(1200), typed="1.2 m")
    MakeFactory(words="Pouch", pattern=a_pattern("700"))
    MakeFactory(words="Shell top", pattern=a_pattern())
    pouch = next(line for line in lines(page(owner_client)) if line.startswith("Pouch"))
    assert "takes 0.7 m of 0.7 m" in pouch
    assert pouch.endswith("· 1.2 m for Red coat")
    assert not any(line.startswith("Shell top") for line in lines(page(owner_client)))


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
    assert flat(spare_sheet(studio).finish)[0].minutes == 210


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
    assert (sheet.finish, sheet.begin) == ([], [])


def test_one_row_a_cloth_and_what_is_more_than_three_is_folded(owner_client, studio):
    for n in range(2):
        a_cloth(f"Linen {n}", left="9000")
    for n in range(7):
        MakeFactory(words=f"Make {n}", pattern=a_pattern(), heat=n % 5 + 1)
    sheet = spare_sheet(studio)
    (row,) = sheet.finish
    assert [idea.make.heat for idea in row.ideas] == [5, 4, 3, 2, 2, 1, 1]
    assert (len(row.first), len(row.more), len(flat(sheet.unlinked))) == (3, 4, 5)
    assert "<summary>+4<" in page(owner_client)


def test_without_hours_this_week_next_week_counts(owner_client, studio):
    """Friday evening: 36 h next week, and what takes longer and cannot be left is nearly."""
    a_cloth(left="9000")
    MakeFactory(words="Apron", pattern=a_pattern(minutes=60))
    MakeFactory(words="Coat", pattern=a_pattern(minutes=18 * 60, stops=True))
    MakeFactory(words="Tent", pattern=a_pattern(minutes=BENCH + 45))
    with time_machine.travel(datetime(2026, 3, 6, 23, 0, tzinfo=UTC), tick=False):
        sheet, text = spare_sheet(studio), page(owner_client)
    assert (sheet.free, sheet.coming, sheet.finish) == (0, BENCH, [])
    assert {row.title for row in flat(sheet.begin)} == {"Apron", "Coat"}
    assert [(row.title, row.short_minutes) for row in sheet.nearly] == [("Tent", 45)]
    assert "0 min this week. Next week 36 h." in " ".join(re.sub("<[^>]+>", "", text).split())
    assert "Can be finished" not in text


@pytest.mark.parametrize("seed", range(6))
def test_against_trying_every_pair(owner, studio, seed):
    """Every make held against every cloth, with sums of its own over the rows."""
    dice = Random(seed)  # noqa: S311 -- the same studio every time, no secret
    cloths = [a_cloth(f"Cloth {n}", left=100 * dice.randint(5, 50)) for n in range(4)]
    states = [MakeState.IDEA, MakeState.LINED_UP, MakeState.RESTING, MakeState.FINISHED]
    rows, taken = {}, dict.fromkeys(cloths, 0)
    for n in range(10):
        length, minutes = 100 * dice.randint(5, 30), dice.choice([60, 600, BENCH, BENCH + 600])
        pattern = a_pattern(length, minutes=minutes, stops=dice.random() < 0.5)
        make = MakeFactory(words=f"Make {n}", pattern=pattern, state=dice.choice(states))
        meant = dice.choice([*cloths, None, None])
        if meant and taken[meant] + length <= meant.left_mm:
            ClothPlan.objects.create(make=make, cloth=meant, mm=length, typed="some")
            if make.state != MakeState.FINISHED:
                taken[meant] += length
        else:
            meant = None
        rows[make] = (length, minutes, pattern.stops, meant)
    sheet = spare_sheet(studio)
    finish, begin = set(), set()
    for make, (length, minutes, stops, meant) in rows.items():
        free = [cloth for cloth in cloths if cloth.left_mm - taken[cloth] >= length]
        if make.state in states[:2] and (meant or free):
            if minutes <= sheet.free:
                finish.add(make)
            elif stops:
                begin.add(make)
    assert {row.make for row in flat(sheet.finish)} == finish
    assert {row.make for row in flat(sheet.begin)} == begin
    assert all(row.minutes <= sheet.free for row in flat(sheet.finish))
    for row in flat(sheet.finish) + flat(sheet.begin):
        length, _, _, meant = rows[row.make]
        fits = row.cloth.left_mm - taken[row.cloth] >= length
        assert row.cloth == meant or (meant is None and fits)


@pytest.mark.postgres
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
    assert [row.title for row in flat(sheet.finish)] == ["Pyjama trousers of Sand linen"]


def test_what_is_under_way_is_gone_on_with_and_what_is_put_away_is_not_suggested(studio):
    """Its cloth is cut: an hour to go can be finished, a guess nobody made gone on with."""
    cloth = a_cloth(left="100")
    hem = MakeFactory(words="Hem", state=MakeState.UNDER_WAY, minutes=60)
    ClothPlan.objects.create(make=hem, cloth=cloth)
    MakeFactory(words="Quilt", state=MakeState.UNDER_WAY)
    for state in (MakeState.RESTING, MakeState.FINISHED, MakeState.LET_GO):
        MakeFactory(state=state, minutes=60)
    sheet = spare_sheet(studio)
    assert [(row.title, row.cloth) for row in flat(sheet.finish)] == [("Hem", cloth)]
    assert [(row.title, row.cloth) for row in flat(sheet.begin)] == [("Quilt", None)]


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


def test_the_season_is_the_one_of_the_owners_year(studio):
    """By hand: on 2 March quarters of the calendar have winter, as the weather has it it is spring;
    where winter begins in July it is summer.
    """
    make = MakeFactory(words="Skirt", pattern=a_pattern(), season="spring")
    a_cloth()
    in_season = {}
    for month in (1, 12, 7):
        studio.winter_begins = month
        rows = [*spare_sheet(studio).finish, *spare_sheet(studio).begin]
        in_season[month] = [row.in_season for row in flat(rows) if row.make == make]
    assert in_season == {1: [False], 12: [True], 7: [False]}


def test_cloth_without_an_amount_is_what_the_pattern_asks_and_said_as_a_guess():
    """By hand: 1.5 m of the pattern on cloth that shrinks by 4 % is 1.5625 m, cut as 1.57 m."""
    cloth = a_cloth(washed=False, shrink_along=Decimal(4))
    make = MakeFactory(pattern=a_pattern("1500"))
    assert cloth_meant(make) is None
    plan = ClothPlan.objects.create(make=make, cloth=cloth)
    meant = cloth_meant(make)
    assert (meant.mm, meant.guessed) == (Decimal(1570), True)
    plan.mm = Decimal(1200)
    plan.save()
    ClothPlan.objects.create(make=make, cloth=a_cloth("Lining"))
    meant = cloth_meant(make)
    assert (meant.mm, meant.guessed) == (Decimal(1200), False)
    make.cloth_plans.update(mm=None)
    make.pattern = None
    assert cloth_meant(make).mm is None


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_asks_the_database_as_often_for_any_number(
    owner_client, django_assert_num_queries, count
):
    for n in range(count):
        cloth = a_cloth(f"Linen {n}")
        make = MakeFactory(pattern=a_pattern(), form_key=uuid4())
        ClothPlan.objects.create(make=make, cloth=cloth)
    with django_assert_num_queries(22):
        page(owner_client)


def test_a_helper_reads_whose_hours_they_are(helper_client):
    assert "12 h of the owner&#x27;s hours" in page(helper_client)


def test_what_a_pattern_takes_is_learned_from_its_finished_makes():
    """By hand: 300, 410 and 500 min have the median 410; with 411 it is 410.5, rounded half up."""
    pattern, other = PatternFactory(minutes=600), PatternFactory()

    def sewn(minutes, **facts):
        make = MakeFactory(**{"pattern": pattern, "state": MakeState.FINISHED} | facts)
        BenchTimeFactory(line=None, make=make, purpose="own", minutes=minutes)
        return make

    for minutes in (300, 410, 500):
        sewn(minutes)
    sewn(20, state=MakeState.UNDER_WAY)
    FurtherPatternFactory(make=sewn(900), pattern=other)
    MakeFactory(pattern=pattern, state=MakeState.FINISHED)
    assert learned_minutes([pattern.pk, other.pk]) == {pattern.pk: Learned(410, 3)}
    sewn(411)
    assert learned_minutes([pattern.pk]) == {pattern.pk: Learned(411, 4)}


def sheet_of(client, day=None, minor=False, **cm):
    """Girths in whole centimetres."""
    sheet = SheetFactory(client=client, taken_on=day or clock.today(), minor=minor)
    for key, girth in cm.items():
        MeasuredFactory(sheet=sheet, key=key, mm=Decimal(girth) * 10, typed=str(girth))
    return sheet


def drafted(**facts):
    """A skirt for hips of 94 and 98 cm, which takes 1.6 m or, larger, 1.9 m."""
    sizes = [{"size": "38", "waist": "70 cm", "hip": "94 cm"}]
    sizes += [{"size": "40", "waist": "74 cm", "hip": "98 cm"}]
    pattern = PatternFactory(garment="skirt", minutes=240, body_sizes=sizes, **facts)
    for size, length in (("38", 1600), ("40", 1900)):
        NeedFactory(pattern=pattern, size=size, width_mm=Decimal(1500), length_mm=Decimal(length))
    return pattern


PREGNANT = {"minor": False, "pregnant": True}


def test_for_a_client_the_newest_sheet_chooses_the_size_and_so_the_cloth(
    owner, owner_client, helper, helper_client
):
    """By hand: hips of 97 cm are nearest to the 98 of size 40, which takes 1.9 m."""
    a_cloth(left="2000")
    mary = ClientFactory(name="Mary Larkin")
    sheet_of(mary, date(2025, 1, 7), hip=93)
    sheet_of(mary, hip=97, waist=75)
    make = MakeFactory(words="Her skirt", pattern=drafted())
    MadeFor.objects.create(make=make, client=mary)
    says = "Size 40 is nearest by Mary Larkin\N{RIGHT SINGLE QUOTATION MARK}s sheet of Mon 2 Mar"
    shown = page_of(owner_client, reverse("what-fits")).text
    assert says in shown
    assert "takes 1.9 m of 2 m" in shown

    card = page_of(owner_client, make.get_absolute_url())
    assert (
        "Size 40 is nearest by the hip. To alter: waist +1 cm, hip \N{MINUS SIGN}1 cm" in card.text
    )
    assert "By the sheet of Mon 2 Mar" in card.text
    sent = {"pattern": make.pattern.pk, "size": card.one("button[name=size]")["value"]}
    owner_client.post(reverse("make-pattern", args=[make.pk]), sent)
    make.refresh_from_db()
    assert make.size == "40"
    # A second pattern has a size of its own: a waist of 75 cm is nearest to the 76 of M.
    table = [{"size": "M", "waist": "76 cm"}, {"size": "L", "waist": "84 cm"}]
    top = PatternFactory(name="Shell top", garment="top", body_sizes=table)
    further = FurtherPatternFactory(make=make, pattern=top)
    card = page_of(owner_client, make.get_absolute_url())
    assert "Shell top: size M is nearest by the waist. To alter: waist \N{MINUS SIGN}1" in card.text
    button = card.one("button[name=size]")
    owner_client.post(
        reverse("make-pattern", args=[make.pk]), {"pattern": top.pk, "size": button["value"]}
    )
    further.refresh_from_db()
    make.refresh_from_db()
    assert (make.size, further.size) == ("40", "M")

    for day, facts, doubt in (
        (date(2025, 3, 1), {}, "older than six months"),
        (date(2026, 2, 20), {"minor": True}, "a child: measure again before cutting"),
        (date(2026, 2, 20), PREGNANT, "pregnant: measure again before cutting"),
        (date(2026, 1, 20), PREGNANT, "taken in a pregnancy, over four weeks ago"),
    ):
        mary.sheets.update(taken_on=day, taken_by=owner, **facts)
        for address in (reverse("what-fits"), make.get_absolute_url()):
            assert doubt in page_of(owner_client, address).text
    helper.ticks = []
    helper.save()
    for address in (reverse("what-fits"), make.get_absolute_url()):
        shown = page_of(helper_client, address).text
        assert "97 cm" not in shown
        assert "nearest" not in shown
    mary.sheets.all().delete()
    assert "nearest" not in page_of(owner_client, make.get_absolute_url()).text


@pytest.mark.postgres
@pytest.mark.parametrize("count", [1, 3])
def test_sheets_are_read_as_often_for_any_number_of_clients(
    count, owner, django_assert_num_queries
):
    for _ in range(count):
        client = ClientFactory()
        sheet_of(client, hip=97)
        MadeFor.objects.create(make=MakeFactory(pattern=drafted()), client=client)
    makes = list(Make.objects.select_related("pattern", "made_for__client"))
    # The sheets, their values, and measures of the owner's own among them.
    with django_assert_num_queries(2):
        assert len(by_sheet(makes, by=owner)) == count
