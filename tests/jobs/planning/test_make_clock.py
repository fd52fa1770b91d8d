"""The bench clock on a make and on a stage of a release."""

import re

import pytest
from django.urls import reverse

from jobs.makes.ideas.actions import MakeError
from jobs.makes.models import MakeState
from jobs.planning import actions
from jobs.planning.bench_time import minutes_of
from jobs.planning.models import BenchTime
from jobs.planning.own.make_card import make_time
from studio.shop import clock
from tests.factories import MakeFactory, StageFactory
from tests.jobs.planning.pages import notices

pytestmark = pytest.mark.usefixtures("monday", "studio")


@pytest.fixture
def make():
    return MakeFactory(words="Red coat", minutes=300)


def post(client, name, **facts):
    return client.post(reverse(name), facts, follow=True)


def test_one_tap_starts_and_one_stops_on_the_make_page(owner_client, make, on):
    post(owner_client, "clock-start", make=make.pk, back=make.get_absolute_url())
    make.refresh_from_db()
    assert (make.state, make.started_at) == (MakeState.UNDER_WAY, clock.now())
    page = owner_client.get(make.get_absolute_url()).text
    assert "the clock has been running since 08:00" in page
    assert reverse("clock-start") not in page
    with on(0, "08:40"):
        assert '<a href="/own/makes/' in owner_client.get("/").text
        assert notices(post(owner_client, "clock-stop")) == ["Red coat: 40 min."]
    time = BenchTime.objects.get()
    assert (time.make, time.purpose, time.line, time.minutes) == (make, "own", None, 40)
    assert "<b>40 min</b> of about 5 h" in owner_client.get(make.get_absolute_url()).text


def test_the_clock_that_had_a_page_of_its_own_stands_on_the_card(owner_client, make):
    answer = owner_client.get(reverse("make-clock", args=[make.pk]))
    assert answer["Location"] == f"{make.get_absolute_url()}#hours"
    assert 'id="hours"' in owner_client.get(make.get_absolute_url()).text


def test_one_make_after_the_other(owner, make, on):
    other = MakeFactory(words="Blue skirt")
    facts = {"line": None, "purpose": "own", "by": owner}
    first = actions.start_clock(make=make, **facts)
    assert actions.start_clock(make=make, **facts) == first
    with on(0, "08:20"):
        actions.start_clock(make=other, **facts)
    with on(0, "08:50"):
        plain = actions.start_clock(**facts)
    assert minutes_of([make.pk, other.pk]) == {make.pk: 20, other.pk: 30}
    assert (plain.make, plain.minutes) == (None, None)


def test_what_is_put_away_is_not_started(owner, owner_client, make):
    make.state = MakeState.FINISHED
    make.save()
    with pytest.raises(MakeError, match="put away"):
        actions.start_clock(line=None, make=make, purpose="own", by=owner)
    assert "put away" in notices(post(owner_client, "clock-start", make=make.pk))[0]
    assert not BenchTime.objects.exists()
    assert not make_time(make, owner).open


def test_a_stage_of_a_release(owner_client, on):
    stage = StageFactory(name="Toile", release__name="Larkfield shirt")
    address = stage.release.get_absolute_url()
    assert reverse("clock-start") in owner_client.get(address).text
    post(owner_client, "clock-start", stage=stage.pk)
    assert reverse("clock-stop") in owner_client.get(address).text
    with on(0, "09:00"):
        assert f'<a href="{address}">Larkfield shirt</a>, toile' in owner_client.get("/").text
        assert notices(post(owner_client, "clock-stop")) == ["Larkfield shirt, Toile: 1 h."]
    time = BenchTime.objects.get()
    assert (time.stage, time.purpose, time.minutes) == (stage, "release", 60)


def test_one_thing_at_a_time(owner_client, make):
    stage = StageFactory()
    post(owner_client, "clock-start", stage=stage.pk, make=make.pk)
    assert not BenchTime.objects.exists()


@pytest.mark.postgres
def test_today_lets_one_choose_among_the_makes_under_way(owner_client, make, on):
    MakeFactory(words="Only an idea")
    under_way = MakeFactory(words="Blue skirt", state=MakeState.UNDER_WAY)
    with on(0, "09:00"):
        page = owner_client.get("/").text
        choice = re.search(rf'name="make" value="{under_way.pk}">.*?</button>', page, re.DOTALL)
        assert choice
        assert "<b>Blue skirt</b>" in choice[0]
        assert "Only an idea" not in page
        post(owner_client, "clock-start", purpose="own", make=under_way.pk)
        post(owner_client, "clock-start", purpose="own", make="")
    assert set(BenchTime.objects.values_list("make", "purpose")) == {
        (under_way.pk, "own"),
        (None, "own"),
    }


def test_minutes_written_down_afterwards(owner_client, make):
    facts = {"own": "45", "make": make.pk, "at": clock.now().isoformat()}
    for _ in range(2):
        page = post(owner_client, "clock-catch-up", **facts)
    assert notices(page) == ["45 min of Red coat written down."]
    time = BenchTime.objects.get()
    assert (time.make, time.minutes, time.purpose) == (make, 45, "own")


def test_a_helper_has_a_clock_of_their_own_on_a_make(helper_client, owner_client, make):
    post(helper_client, "clock-start", make=make.pk)
    assert reverse("clock-start") in (owner_client.get(make.get_absolute_url()).text)
    assert reverse("clock-stop") in helper_client.get(make.get_absolute_url()).text


def test_minutes_noted_for_a_make_are_taken_back_on_its_page_of_changes(owner_client, make):
    post(owner_client, "clock-catch-up", own="45", make=make.pk, at=clock.now().isoformat())
    address = reverse("make-changes", args=[make.pk])
    page = owner_client.get(address).text
    assert "45 min at the bench noted: Red coat." in page
    entry = re.search(r'name="entry" value="(\d+)"', page)[1]
    after = owner_client.post(reverse("own-undo"), {"entry": entry, "back": address}, follow=True)
    assert "45 min at the bench noted" in notices(after)[0]
    assert not make.bench_times.exists()
