"""Hoping for something: once at a time, in an order of the owner's, and never in the past."""

from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from jobs.makes.ideas.actions import MakeError
from jobs.makes.models import Gap, Hope, Make, MakeState
from jobs.makes.year import actions
from jobs.makes.year.seasons import season, season_of
from studio.shop import clock
from studio.shop.models import Entry, Profile
from tests import factories as f
from tests.studio.shop.rush_hour import at_once


@pytest.fixture
def now(studio):
    return season_of(clock.today(), 1)


@pytest.fixture
def coming(now):
    return season_of(now.last + timedelta(1), 1)


def row(of):
    standing = Hope.objects.filter(until=None, begins=of.first).select_related("make", "gap")
    return [(hope.make or hope.gap).words for hope in standing]


def hoped(words, to, owner):
    make = f.MakeFactory(words=words)
    actions.hope(thing=make, to=to, by=owner)
    return make


def test_a_thing_is_hoped_for_in_one_season(owner, now, coming):
    make = hoped("Coat", now, owner)
    actions.hope(thing=make, to=coming, by=owner)
    assert (row(now), row(coming)) == ([], ["Coat"])
    actions.hope(thing=make, to=None, by=owner)
    assert row(coming) == []
    assert Hope.objects.filter(make=make).count() == 2


def test_order_is_the_owners_and_no_history(owner, coming):
    first, second, third = (hoped(words, coming, owner) for words in ("A", "B", "C"))
    entries = Entry.objects.count()
    actions.hope(thing=third, to=coming, before=first.hopes.get(), by=owner)
    assert row(coming) == ["C", "A", "B"]
    actions.hope(thing=first, to=coming, by=owner)
    assert row(coming) == ["C", "B", "A"]
    assert Entry.objects.count() == entries
    actions.hope(thing=second, to=None, by=owner)
    assert row(coming) == ["C", "A"]


def test_a_season_that_is_over_takes_nothing_more(owner, now):
    over = season_of(now.first - timedelta(1), 1)
    with pytest.raises(MakeError, match="is over"):
        hoped("Coat", over, owner)


def test_what_is_finished_is_not_hoped_for(owner, coming):
    make = f.MakeFactory(state=MakeState.FINISHED, finished_on=clock.today())
    with pytest.raises(MakeError, match="put away"):
        actions.hope(thing=make, to=coming, by=owner)


def test_what_comes_of_a_gap_takes_its_season(owner, coming):
    gap = f.GapFactory(words="Warm trousers")
    actions.hope(thing=gap, to=coming, by=owner)
    make = f.MakeFactory(words="Tweed trousers")
    actions.fill(gap=gap, make=make, by=owner)
    gap.refresh_from_db()
    assert gap.filled == make
    assert row(coming) == ["Tweed trousers"]
    assert not gap.hopes.filter(until=None).exists()


@pytest.mark.postgres
def test_another_winter_moves_what_is_to_come_and_not_what_was(owner, now, coming):
    was, will = hoped("A", now, owner), hoped("B", coming, owner)
    actions.begin_winter_in(month=12, by=owner)
    assert was.hopes.get().begins == now.first
    assert will.hopes.get().begins == season(coming.year, coming.name, 12).first
    assert Profile.objects.get().winter_begins == 12


@pytest.mark.postgres
def test_a_later_answer_of_one_sitting_stands_and_other_years_stay(owner):
    make = f.MakeFactory(state=MakeState.FINISHED, finished_on=date(2025, 5, 1))
    last_year = actions.sit_down(year=2025)
    actions.judge(make=make, answer="keep", whys=[], words="", sitting=last_year, by=owner)
    this_year = actions.sit_down(year=2026)
    for answer in ("unsure", "let_go", "let_go"):
        actions.judge(
            make=make, answer=answer, whys=["Too full"], words="", sitting=this_year, by=owner
        )
    said = make.judgements.order_by("sitting__year").values_list("answer", "whys")
    assert list(said) == [("keep", []), ("let_go", ["Too full"])]
    assert actions.sit_down(year=2025) == last_year


def test_only_what_is_finished_is_judged(owner):
    with pytest.raises(MakeError, match="not finished"):
        actions.judge(make=f.MakeFactory(), answer="keep", whys=[], words="", by=owner)


def test_of_several_all_are_hoped_for_or_none(owner, coming):
    idea, done = f.MakeFactory(words="A"), f.MakeFactory(state=MakeState.LET_GO)
    with pytest.raises(MakeError, match="put away"):
        actions.hope_for_all(things=[idea, done], to=coming, before=None, by=owner)
    assert not Hope.objects.exists()


MOVES = st.lists(
    st.tuples(
        st.lists(st.integers(0, 4), min_size=1, max_size=2, unique=True),
        st.integers(0, 2),
        st.integers(-1, 4),
    ),
    max_size=12,
)


@settings(
    max_examples=15,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(moves=MOVES)
def test_any_moves_give_what_lists_of_names_would(moves, owner, now, coming):
    """One is dragged or carried, two are ticked in a form; each season a plain list, by hand."""
    for model in (Hope, Make, Gap):
        model.objects.all().delete()
    things = [f.MakeFactory(words=words) for words in "abc"]
    things += [f.GapFactory(words=words) for words in "de"]
    seasons, lists = [None, now, coming], [[], [], []]
    for which, to, ahead in moves:
        before = None if ahead == -1 else things[ahead].hopes.filter(until=None).first()
        chosen = [things[number] for number in which]
        actions.hope_for_all(things=chosen, to=seasons[to], before=before, by=owner)
        neighbour = "abcde"[ahead] if ahead != -1 and "abcde"[ahead] in lists[to] else None
        for name in ("abcde"[number] for number in which if "abcde"[number] != neighbour):
            for line in lists:
                if name in line:
                    line.remove(name)
            place = lists[to].index(neighbour) if neighbour else len(lists[to])
            lists[to].insert(place, name)
        assert [row(now), row(coming)] == lists[1:]


def test_two_windows_at_once_lose_nothing(transactional_db, owner, now, coming):
    things = [f.MakeFactory(words=str(number)) for number in range(4)]
    things += [f.GapFactory(words=str(number)) for number in range(4, 6)]

    def one_window():
        for thing in things:
            actions.hope(thing=thing, to=coming, by=owner)
            actions.hope(thing=thing, to=now, by=owner)

    def another():
        for thing in things[::-1]:
            first = Hope.objects.filter(until=None, begins=coming.first).first()
            actions.hope(thing=thing, to=coming, before=first, by=owner)

    at_once(one_window, another)
    assert sorted(row(now) + row(coming)) == list("012345")
    for to in (now, coming):
        places = [standing.place for standing in Hope.objects.filter(until=None, begins=to.first)]
        assert len(set(places)) == len(places)
