"""The board's page: what it counts, what can be put where, and that it asks the database little."""

from datetime import date, time, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.makes.models import Hope, MakeState
from jobs.makes.year.actions import hope
from jobs.makes.year.seasons import season_of
from jobs.planning.models import BenchTime
from studio.shop import clock
from tests import factories as f
from tests.histories import sentences
from tests.jobs.planning.pages import words


@pytest.fixture
def now(studio):
    return season_of(clock.today(), 1)


def lane_of(page, season):
    return next(lane for lane in page.context["board"].lanes if lane.season == season)


def names(tiles):
    return [(tile.words, tile.mark) for tile in tiles]


def test_a_season_shows_what_was_hoped_made_and_sewn(owner_client, owner, now):
    start = clock.at(now.first, clock.local(clock.now()).time())
    early = start - timedelta(days=2)
    made, waiting = (
        f.MakeFactory(words="Coat", minutes=300),
        f.MakeFactory(words="Vest", minutes=90),
    )
    for make in (made, waiting):
        f.HopeFactory(make=make, year=now.year, season=now.name, begins=now.first, since=early)
    for make, day in ((made, now.first), (f.MakeFactory(words="Bag"), clock.today())):
        make.state, make.finished_on = MakeState.FINISHED, day
        make.save()
    f.BenchTimeFactory(make=made, purpose=BenchTime.Purpose.OWN, started_at=start, minutes=75)
    cloth = f.ClothFactory()
    f.ClothMoveFactory(cloth=cloth, why="cut", mm=Decimal(-1200), day=clock.today(), make=made)

    page = owner_client.get(reverse("board-of", args=[now.year]))
    lane = lane_of(page, now)
    assert names(lane.hoped) == [("Coat", "made"), ("Vest", "")]
    assert names(lane.made) == [("Coat", "made")]
    assert names(lane.unplanned) == [("Bag", "made")]
    said = words(page.text)
    assert "1 h 15 sewn of 6 h 30 hoped" in said
    assert "1.2 m cut" in said
    assert "2 made 1 of 2 hoped for 1 unplanned" in said


def test_the_winter_a_year_before_holds_its_leap_day(owner_client, studio, watch):
    """By hand: 75 and 20 min were sewn on the last two days of the winter before, 5 on the next."""
    type(studio).objects.update(winter_begins=12)
    for day, minutes in (((2028, 2, 28), 75), ((2028, 2, 29), 20), ((2028, 3, 1), 5)):
        watch.move_to(clock.at(date(*day), time(11)))
        f.BenchTimeFactory(
            line=None, make=f.MakeFactory(), purpose=BenchTime.Purpose.OWN, minutes=minutes
        )
    watch.move_to(clock.at(date(2029, 2, 28), time(11)))
    page = owner_client.get(reverse("board-of", args=[2029]))
    winter = lane_of(page, season_of(clock.today(), 12))
    assert winter.sewn_before == 95


@pytest.mark.postgres
def test_ticked_things_go_into_a_season_and_out_again(owner_client, owner, now):
    coming = season_of(now.last + timedelta(1), 1)
    make, gap = f.MakeFactory(words="Coat"), f.GapFactory(words="Dark trousers")
    address = reverse("board-move", args=[coming.year])
    things = {"things": [f"make-{make.pk}", f"gap-{gap.pk}"], "to": coming.name.value}
    page = owner_client.post(address, things, follow=True)
    assert names(lane_of(page, coming).hoped) == [("Coat", ""), ("Dark trousers", "")]
    owner_client.post(
        address, {"things": [f"gap-{gap.pk}"], "to": coming.name.value, "before": f"make-{make.pk}"}
    )
    order = Hope.objects.filter(until=None).order_by("place")
    assert [str(hope.gap or hope.make) for hope in order] == ["Dark trousers", "Coat"]
    owner_client.post(address, things | {"to": ""})
    assert not Hope.objects.filter(until=None).exists()


def test_a_script_is_told_what_was_done_and_what_follows(owner_client, now):
    """What it sends are the fields of the form; what was wrong it hears as a reason."""
    make = f.MakeFactory(words="Coat", minutes=90)
    coming = season_of(now.last + timedelta(1), 1)
    address = reverse("board-move", args=[coming.year])
    asked = {"headers": {"Accept": "application/json"}}
    sent = {"things": f"make-{make.pk}", "to": coming.name.value}
    answer = owner_client.post(address, sent, **asked).json()
    assert answer["said"] == f"Hoped for in {coming}: Coat"
    assert "1 h 30" in words(answer["parts"][coming.name.value])
    again = owner_client.post(address, sent, **asked).json()
    assert (again["said"], again["entry"]) == ("", None)
    refused = owner_client.post(address, {"things": ""}, **asked)
    assert (refused.status_code, "Tick something" in refused.json()["said"]) == (409, True)


def test_what_left_a_plan_stays_to_be_seen_and_comes_back_into_its_place(owner_client, owner, now):
    """The plan is what stood on the first day; of what stands now some was added later."""
    early = clock.at(now.first, clock.local(clock.now()).time()) - timedelta(days=2)
    coat, vest = f.MakeFactory(words="Coat"), f.MakeFactory(words="Vest")
    f.HopeFactory(make=coat, year=now.year, season=now.name, begins=now.first, since=early)
    hope(thing=vest, to=now, by=owner)

    def notes():
        page = owner_client.get(reverse("board-of", args=[now.year]))
        return [(tile.words, tile.note, tile.movable) for tile in lane_of(page, now).hoped]

    assert notes() == [("Coat", "", True), ("Vest", "added later", True)]
    hope(thing=coat, to=None, by=owner)
    assert notes() == [("Vest", "added later", True), ("Coat", "moved on", False)]
    hope(thing=coat, to=now, by=owner)
    assert notes() == [("Vest", "added later", True), ("Coat", "", True)]


def test_a_season_has_hours_and_cloth_set_aside_and_is_kept_from_nothing(owner_client, owner, now):
    """In place on the board, season by season: what is said of one leaves the others."""
    coming = season_of(now.last + timedelta(1), 1)
    hope(thing=f.MakeFactory(words="Coat", minutes=600), to=coming, by=owner)
    address, name = reverse("board-budgets", args=[coming.year]), coming.name.value
    sent = {f"{name}-hours": "7:30", f"{name}-cloth": "4"}
    page = owner_client.post(address, sent, follow=True)
    assert "10 h hoped 7 h 30 set aside, 2 h 30 more" in words(page.text)
    assert "No cloth yet 4 m set aside" in words(page.text)
    assert 'value="7:30"' in page.text
    refused = owner_client.post(address, sent | {f"{name}-hours": "200"})
    assert "Write hours such as 12 or 7:30, at most 168." in refused.text
    assert 'value="200"' in refused.text
    assert owner_client.get(address).url == reverse("board-of", args=[coming.year])
    empty = {f"{name}-hours": "", f"{name}-cloth": ""}
    page = owner_client.post(address, empty, follow=True)
    assert "set aside" not in words(lane_text(page, coming))


def test_cloth_and_hours_that_only_the_pattern_knows_count_and_are_said_as_such(
    owner_client, owner, now
):
    """By hand: 1.3 m as the owner said, 2.5 m as the pattern asks; its makes took 4 h."""
    coming, pattern = season_of(now.last + timedelta(1), 1), f.PatternFactory(minutes=900)
    f.NeedFactory(pattern=pattern, size="", width_mm=Decimal(1500), length_mm=Decimal(2500))
    sewn = f.MakeFactory(pattern=pattern, state=MakeState.FINISHED, finished_on=date(2020, 1, 1))
    f.BenchTimeFactory(line=None, make=sewn, purpose=BenchTime.Purpose.OWN, minutes=240)
    pyjamas, vest = f.MakeFactory(words="Pyjamas", pattern=pattern), f.MakeFactory(words="Vest")
    cloth = f.ClothFactory(width_mm=Decimal(1500), washed=True)
    f.ClothPlanFactory(make=pyjamas, cloth=cloth, mm=None, typed="")
    address = reverse("board-of", args=[coming.year])
    hope(thing=pyjamas, to=coming, by=owner)
    assert "2.5 m meant, by the patterns" in words(owner_client.get(address).text)
    f.ClothPlanFactory(make=vest, cloth=cloth, mm=Decimal(1300), typed="1.3 m")
    hope(thing=vest, to=coming, by=owner)
    said = words(lane_text(owner_client.get(address), coming))
    assert "3.8 m meant, 2.5 m by the patterns" in said
    assert "4 h hoped" in said
    pattern.needs.all().delete()
    hope(thing=vest, to=None, by=owner)
    said = words(lane_text(owner_client.get(address), coming))
    assert "Cloth chosen, no length yet" in said


def lane_text(page, season):
    part = page.text.partition(f'data-part="{season.name.value}"')[2]
    return part.partition("</li>")[0]


def test_nothing_ticked_and_nonsense_are_told(owner_client, now):
    address = reverse("board-move", args=[now.year])
    for sent in ({"to": ""}, {"things": "make-x", "to": ""}, {"things": "make-1", "to": "monsoon"}):
        page = owner_client.post(address, sent, follow=True)
        assert "Tick something, then choose where it goes." in page.text
    assert owner_client.post(address, {"things": "make-999999", "to": ""}).status_code == 404


def test_no_season_that_is_over_takes_anything(owner_client, now):
    over = season_of(now.first - timedelta(1), 1)
    make = f.MakeFactory(words="Coat")
    sent = {"things": f"make-{make.pk}", "to": over.name.value}
    page = owner_client.post(reverse("board-move", args=[over.year]), sent, follow=True)
    assert f"{over} is over." in page.text
    assert not Hope.objects.exists()


def test_several_that_were_moved_are_told_where_they_are(owner_client, now):
    coming = season_of(now.last + timedelta(1), 1)
    things = [f"make-{f.MakeFactory(words=words).pk}" for words in ("Coat", "Vest")]
    address = reverse("board-move", args=[coming.year])
    for to, place in ((coming.name.value, str(coming)), ("", "“Some time”")):
        page = owner_client.post(address, {"things": things, "to": to}, follow=True)
        assert f"2 moved to {place}." in page.text


def test_the_next_year_can_be_planned_and_no_later_one(owner_client, now):
    assert not owner_client.get(reverse("board-of", args=[now.year + 1])).context["board"].begun
    assert owner_client.get(reverse("board-of", args=[now.year + 2])).status_code == 404
    assert owner_client.get(reverse("board-of", args=[1999])).status_code == 404


@pytest.mark.parametrize("many", [1, 3])
def test_the_board_asks_the_same_number_of_questions(
    owner_client, owner, now, many, django_assert_num_queries
):
    coming = season_of(now.last + timedelta(1), 1)
    # After autumn comes another year, which has a board of its own.
    hoped_for = coming if coming.year == now.year else now
    for _ in range(many):
        make = f.MakeFactory(pattern=f.PatternFactory())
        make.pictures.add(f.PictureFactory())
        f.ClothPlanFactory(make=make)
        hope(thing=make, to=hoped_for, by=owner)
        f.MakeFactory(state=MakeState.FINISHED, finished_on=date(now.year, 1, 1))
        f.GapFactory()
        f.MakeFactory()
    owner_client.get(reverse("board"))
    with django_assert_num_queries(17):
        owner_client.get(reverse("board"))


def test_the_owner_says_when_winter_begins(owner_client, helper_client, studio):
    address = reverse("board-seasons")
    assert "Choose a month." in owner_client.post(address, {"month": "13"}, follow=True).text
    page = owner_client.post(address, {"month": "12"}, follow=True)
    assert "Winter Dec to Feb, Spring Mar to May" in words(page.text)
    studio.refresh_from_db()
    assert studio.winter_begins == 12
    assert sentences(studio)[0] == "The studio, changed: winter begins in month."
