"""All releases with their rails; their hours beside those of clients and the owner in the week."""

from datetime import date

import pytest
import time_machine
from django.urls import reverse

from jobs.planning.queries import read_week
from jobs.planning.week import past_week, week_sheet
from studio.shop import clock
from tests import factories as f
from tests.jobs.planning.books import MONDAY, at
from tests.jobs.planning.pages import words
from tests.own_factories import PatternFactory


@pytest.fixture(autouse=True)
def _tuesday(studio):
    f.PlanRulesFactory(lost_percent=0, own_percent=30)
    with time_machine.travel("2026-03-03 08:00Z", tick=False):
        yield


def rows(client, query: str = "") -> list[str]:
    """Name and what is said of each, without its rail."""
    page = client.get(reverse("releases") + query).text
    parts = page.split('<section class="a-release"')[1:]
    return [words("<" + part.partition("<h2")[2].partition("<ol")[0]) for part in parts]


def on_its_way(name: str = "Wrap skirt", **facts):
    """An hour spent of three, 9.00 a copy and 36.00 an hour: 12 copies break even."""
    release = f.ReleaseFactory(name=name, price=900, rate=3600, **facts)
    f.StageFactory(release=release, name="Draft", done_at=clock.now())
    stage = f.StageFactory(release=release, name="Toile", minutes=180)
    f.BenchTimeFactory(line=None, purpose="release", stage=stage, minutes=60)
    return release


def test_a_row_says_how_far_it_is(owner_client):
    release = on_its_way(target_on=date(2026, 5, 1))
    f.SaleFactory(release=release, copies=2, net=1800)
    f.TesterFactory(release=release, back_on=clock.today())
    f.TesterFactory(release=release)
    assert rows(owner_client) == [
        (
            "Wrap skirt At Toile , 1 of 2 stages done. 1 of 2 testers has answered. "
            "1 h so far, 2 h to go. Hoped for by Fri 1 May 2026. "
            "2 copies sold. 10 to sell to break even."
        )
    ]
    page = words(owner_client.get(reverse("releases")).text)
    assert "1 on its way, 0 on sale" in page
    assert "Draft done Tue 3 Mar Toile 1 h of 3 h" in page


def test_the_helper_is_shown_no_copies(helper_client):
    f.SaleFactory(release=on_its_way(), copies=7)
    assert rows(helper_client) == [
        "Wrap skirt At Toile , 1 of 2 stages done. 1 h so far, 2 h to go."
    ]


def test_those_to_come_are_first_and_those_put_away_are_apart(owner_client):
    on_its_way("Out", published_on=date(2026, 1, 5))
    on_its_way("Some day")
    on_its_way("In May", target_on=date(2026, 5, 1))
    on_its_way("Resting", put_away_at=clock.now())
    assert [row.split(" At ")[0] for row in rows(owner_client)] == [
        "In May", "Some day",
        ("Out Published Mon 5 Jan 2026. 1 h so far, 2 h to go. 0 copies sold. "
        "12 to sell to break even."),
    ]  # fmt: skip
    assert [row.split(" At ")[0] for row in rows(owner_client, "?away")] == ["Resting"]


def test_no_release_yet(owner_client):
    assert rows(owner_client) == []
    page = owner_client.get(reverse("releases")).text
    assert "A pattern of your own on its way to sale" in page
    assert "Nothing is put away." in owner_client.get(f"{reverse('releases')}?away").text


def test_a_pattern_of_the_studios_own_begins_a_release(owner_client, studio):
    mine = PatternFactory(name="Bread bag", maker=studio.name.upper())
    PatternFactory(name="Bought dress", maker="Somebody")
    page = owner_client.get(reverse("releases")).text
    new = f"{reverse('release-new')}?pattern={mine.pk}"
    assert new in page
    assert "Bought dress" not in page
    assert 'value="Bread bag"' in owner_client.get(new).text
    f.ReleaseFactory(pattern=mine)
    assert new not in owner_client.get(reverse("releases")).text


@pytest.mark.postgres
@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(("role", "queries"), [("owner", 10), ("helper", 8)])
def test_the_list_asks_the_database_as_often_for_any_number(
    request, django_assert_num_queries, count, role, queries
):
    client = request.getfixturevalue(f"{role}_client")
    for number in range(count):
        release = on_its_way(f"Shirt {number}")
        f.SaleFactory(release=release)
        f.CostFactory(release=release)
    # Login (2), the studio; releases, testers, stages, hours, own patterns; for the owner costs
    # and sales.
    with django_assert_num_queries(queries):
        client.get(reverse("releases"))


def test_its_hours_stand_in_the_week_as_releases(owner_client, studio):
    release = on_its_way()
    stage = release.stages.last()
    owner_client.post(reverse("stage-minutes", args=[stage.pk]), {"minutes": "1", "day": MONDAY})
    f.BenchTimeFactory(line=None, purpose="own", started_at=at(0, "10:00"), minutes=45)
    f.BenchTimeFactory(started_at=at(0, "11:00"), minutes=30)
    day = week_sheet(read_week(studio, until=MONDAY), MONDAY).days[0]
    assert (day.bar.done_clients, day.bar.done_own, day.bar.done_releases) == (30, 45, 60)
    sewn = {part.kind: part.minutes for part in day.parts if part.done}
    assert sewn == {"clients": 30, "own": 45, "releases": 60, "lost": 480 - 135}
    page = words(owner_client.get(reverse("week")).text)
    assert f"{release.name} sewn 1 h" in page
    with time_machine.travel("2026-03-12 08:00Z", tick=False):
        assert past_week(MONDAY).days[0].bar.done_releases == 60
