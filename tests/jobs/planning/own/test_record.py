"""The record: what was made by year and season, what became of it, and what is set aside."""

import re
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.makes.models import ClothMove, MakeState
from jobs.planning.models import BenchTime
from studio.shop import clock
from tests import factories as f
from tests.jobs.planning.pages import words
from tests.own_factories import ClothMoveFactory

AT = "/own/makes/"


def finished(**fields):
    facts = {"state": MakeState.FINISHED, "finished_on": "2026-03-01", "started_at": None}
    return f.MakeFactory(**(facts | fields))


def shown(page: str) -> list[str]:
    return [words(name) for name in re.findall(r'<span class="cap">(.*?)</span>', page)]


def heads(page: str) -> list[str]:
    found = re.findall(r"<h[23] id=[^>]*>(.*?)</h[23]>", page, re.DOTALL)
    return [words(head) for head in found if "More" not in head and "New idea" not in head]


@pytest.fixture
def wardrobe(studio):
    """By hand, winter from December: 2026 has winter (dress) and spring (shirt); the coat of
    30 November 2025 is of autumn 2025, and the dress of the next day of winter 2026.
    """
    studio.winter_begins = 12
    studio.save()
    return {
        "shirt": finished(words="Shirt", kind="shirt", finished_on="2026-03-02", fate="rarely"),
        "dress": finished(words="Dress", kind="dress", finished_on="2025-12-01", fate="often"),
        "coat": finished(words="Coat", finished_on="2025-11-30", whom="Wren", fate="given"),
        "bag": finished(words="Bag", finished_on="2025-07-01"),
    }


def test_by_year_and_season_newest_first_with_the_years_sums(owner_client, wardrobe, owner):
    """Sewn 1 h 30 on 1 December (2026's winter) and 2 h on 30 November 2025; cut 1.2 m in 2025."""
    for day, minutes in ((date(2025, 12, 1), 90), (date(2025, 11, 30), 120)):
        at = clock.at(day, clock.now().time())
        BenchTime.objects.create(
            make=wardrobe["dress"], purpose="own", minutes=minutes, started_at=at, by=owner
        )
    cut = {"why": ClothMove.Why.CUT, "mm": Decimal(-1200), "typed": "1.2 m"}
    ClothMoveFactory(**cut, day=date(2025, 7, 1), make=wardrobe["bag"])
    page = owner_client.get(AT).text
    assert heads(page) == [
        "2026 2 made · 1 h 30", "Spring 2026", "Winter 2026",
        "2025 2 made · 2 h · 1.2 m", "Autumn 2025", "Summer 2025",
    ]  # fmt: skip
    assert shown(page) == ["Shirt", "Dress", "Coat", "Bag"]
    for year, hours in ((2026, "1 h 30"), (2025, "2 h")):
        assert hours in words(owner_client.get(reverse("board-of", args=[year])).text)


def test_what_is_not_worn_is_a_chip(owner_client, wardrobe):
    page = owner_client.get(AT).text
    chips = [words(c) for c in re.findall(r'<a class="chip"[^>]*>(.*?)</a>', page, re.DOTALL)]
    assert chips == [
        "All 4", "Worn rarely 1", "Worn often 1", "Given away 1", "Never judged 1", "Shirt 1",
        "Dress 1", "For others 1",
    ]  # fmt: skip
    for key, names in {
        "rarely": ["Shirt"], "unsaid": ["Bag"], "others": ["Coat"], "kind-dress": ["Dress"],
        "apart": [], "nonsense": ["Shirt", "Dress", "Coat", "Bag"],
    }.items():  # fmt: skip
        assert shown(owner_client.get(AT, {"show": key}).text) == names
    # What was said in a sitting stands for it until it is said what became of it.
    judged = {"at": clock.now()}
    wardrobe["bag"].judgements.create(answer="unsure", **judged)
    wardrobe["shirt"].judgements.create(answer="keep", **judged)
    assert shown(owner_client.get(AT, {"show": "unsure"}).text) == ["Bag"]
    assert "Kept" not in owner_client.get(AT).text


def test_a_tap_in_the_corner_says_what_became_of_it_and_goes_on(owner_client, wardrobe):
    tote = finished(words="Tote", finished_on="2025-06-30")
    bag = wardrobe["bag"]
    page = owner_client.get(AT, {"show": "unsaid"}).text
    corner = re.search(rf'class="said-of unsaid" href="(\?say={bag.pk}[^"]*)"', page)[1]
    bar = owner_client.get(AT + corner.replace("&amp;", "&").partition("#")[0]).text
    bar = bar.partition('<section class="step fate-bar"')[2]
    back = re.search(r'name="back" value="(.*?)"', bar)[1].replace("&amp;", "&")
    assert back == f"{AT}?show=unsaid&say={tote.pk}#make-{tote.pk}"
    sent = {"fate": "rarely", "back": back}
    answer = owner_client.post(reverse("make-fate", args=[bag.pk]), sent)
    assert answer["Location"] == back
    bag.refresh_from_db()
    assert bag.fate == "rarely"
    page = owner_client.get(back).text
    assert shown(page) == ["Tote"]
    assert "Worn rarely: Bag" in words(page)
    assert '<section class="step fate-bar"' in page
    assert '<section class="step fate-bar"' not in owner_client.get(AT, {"say": "0"}).text


def test_years_that_have_no_room_are_a_page_of_their_own(owner_client, wardrobe, monkeypatch):
    monkeypatch.setattr("jobs.planning.own.record.MOST_SHOWN", 3)
    page = owner_client.get(AT).text
    assert shown(page) == ["Shirt", "Dress"]
    assert "2025 and before" in page
    assert shown(owner_client.get(AT, {"before": "2025"}).text) == ["Coat", "Bag"]


def test_it_is_found_however_it_is_typed(owner_client):
    finished(words="Élan dress", whom="Órla")
    finished(words="Tote bag")
    f.MakeFactory(words="Elan cape", state=MakeState.LET_GO, let_go_at=clock.now())
    assert shown(owner_client.get(AT, {"q": "ORLA elan"}).text) == ["Élan dress"]
    page = owner_client.get(AT, {"q": "elan", "state": "let_go"}).text
    assert shown(page) == ["Elan cape"]


def test_what_is_set_aside_is_brought_back(owner_client):
    gone = f.MakeFactory(words="Cape", state=MakeState.LET_GO, let_go_at=clock.now())
    rests = f.MakeFactory(words="Suit", state=MakeState.RESTING)
    page = owner_client.get(AT, {"state": "let_go"}).text
    assert heads(page) == ["Resting 1 · keep their cloth", "Let go 1"]
    assert shown(page) == ["Suit", "Cape"]
    for address in re.findall(r'<form method="post" action="(/own/makes/\d+/[^"]*)"', page):
        to = {"to": "idea"} if "move" in address else {}
        owner_client.post(address, to)
    for make in (gone, rests):
        make.refresh_from_db()
        assert make.state == MakeState.IDEA
    assert "Nothing is set aside." in owner_client.get(AT, {"state": "let_go"}).text


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(("state", "queries"), [("finished", 11), ("let_go", 9)])
def test_pictures_ask_as_often_for_any_number(
    owner_client, django_assert_num_queries, state, queries, count
):
    for _ in range(count):
        make = finished(state=state, let_go_at=clock.now())
        make.pictures.add(f.PictureFactory())
        f.ClothPlanFactory(make=make)
    # Login (2), the studio; the makes with pictures, piles, cloth and looks (5), and of what was
    # made what was said, sewn and cut (3); of what is set aside what rests (1), of which is none.
    with django_assert_num_queries(queries):
        owner_client.get(AT, {"state": state})
