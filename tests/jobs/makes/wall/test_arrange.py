"""Cards put in order, into piles, and out of them; and the piles themselves."""

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from jobs.makes.ideas.actions import MakeError, let_go, start
from jobs.makes.models import Make, MakeState, Pile, PilePlace
from jobs.makes.wall import actions
from studio.shop import history
from studio.shop.models import Entry
from tests import factories as f

IDEA, LINED_UP, RESTING = MakeState.IDEA, MakeState.LINED_UP, MakeState.RESTING


def loose() -> list[str]:
    return [make.words for make in Make.objects.filter(state=IDEA, piles=None)]


def lying(area) -> list[str]:
    if isinstance(area, Pile):
        return [row.make.words for row in area.places.select_related("make")]
    return [make.words for make in Make.objects.filter(state=area)]


def again(make: Make) -> Make:
    return Make.objects.get(pk=make.pk)


@pytest.fixture
def three(studio) -> list[Make]:
    return [f.MakeFactory(words=words, place=place) for place, words in enumerate("abc")]


def test_mere_order_leaves_no_entry_and_the_former_neighbour_takes_it_back(three, owner):
    a, b, c = three
    assert actions.arrange(make=c, to=IDEA, before=a, by=owner) is None
    assert loose() == ["c", "a", "b"]
    actions.arrange(make=a, to=IDEA, by=owner)
    assert loose() == ["c", "b", "a"]
    actions.arrange(make=a, to=IDEA, before=b, by=owner)
    actions.arrange(make=c, to=IDEA, before=None, by=owner)
    assert loose() == ["a", "b", "c"]
    actions.arrange(make=b, to=IDEA, before=b, by=owner)
    assert loose() == ["a", "b", "c"]
    assert not Entry.objects.exists()


def test_an_idea_lies_in_several_piles_with_a_place_in_each(three, owner):
    a, b, c = three
    choir, _ = actions.add_pile(name="Choir", by=owner)
    party, _ = actions.add_pile(name="Party", by=owner)
    for make in three:
        actions.arrange(make=make, to=choir, by=owner)
    actions.arrange(make=c, to=party, source=choir, also=True, by=owner)
    actions.arrange(make=a, to=party, before=c, source=choir, also=True, by=owner)
    actions.arrange(make=c, to=choir, before=a, by=owner)
    assert (lying(choir), lying(party), loose()) == (["c", "a", "b"], ["a", "c"], [])
    entry = actions.arrange(make=b, to=party, before=c, source=choir, by=owner)
    assert (lying(choir), lying(party)) == (["c", "a"], ["a", "b", "c"])
    history.undo(entry=entry, by=owner)
    assert (lying(choir), lying(party)) == (["c", "a", "b"], ["a", "c"])
    actions.take_out(make=b, pile=choir, by=owner)
    assert loose() == ["b"]
    actions.arrange(make=a, to=IDEA, source=party, by=owner)
    assert (loose(), lying(choir), lying(party)) == (["b", "a"], ["c"], ["c"])


def test_from_what_is_planned_next_to_a_pile_and_back(three, owner):
    a, b, _ = three
    pile = f.PileFactory()
    actions.arrange(make=b, to=LINED_UP, source=IDEA, by=owner)
    actions.arrange(make=a, to=LINED_UP, before=b, by=owner)
    assert (lying(LINED_UP), loose()) == (["a", "b"], ["c"])
    actions.arrange(make=a, to=pile, source=LINED_UP, also=True, by=owner)
    assert (lying(LINED_UP), lying(pile)) == (["a", "b"], ["a"])
    actions.arrange(make=b, to=pile, before=a, source=LINED_UP, by=owner)
    assert (lying(LINED_UP), lying(pile), again(b).state) == (["a"], ["b", "a"], IDEA)
    actions.arrange(make=b, to=LINED_UP, source=pile, by=owner)
    assert (lying(LINED_UP), lying(pile)) == (["a", "b"], ["a"])


def test_what_rests_keeps_its_cloth_and_its_piles(owner):
    plan = f.ClothPlanFactory(make__words="Coat")
    pile = f.PilePlaceFactory(make=plan.make).pile
    actions.arrange(make=plan.make, to=RESTING, source=pile, by=owner)
    assert (again(plan.make).state, lying(pile)) == (RESTING, ["Coat"])
    assert plan.make.cloth_plans.get() == plan
    actions.arrange(make=plan.make, to=IDEA, by=owner)
    assert (again(plan.make).state, loose()) == (IDEA, ["Coat"])
    actions.arrange(make=plan.make, to=RESTING, by=owner)
    start(make=plan.make, by=owner)
    assert again(plan.make).state == MakeState.UNDER_WAY


def test_what_is_put_away_is_not_arranged(three, owner):
    a, _, _ = three
    let_go(make=a, by=owner)
    with pytest.raises(MakeError, match="Take it up again first"):
        actions.arrange(make=a, to=IDEA, by=owner)
    pile = f.PileFactory(name="Choir")
    actions.remove_pile(pile=pile, by=owner)
    with pytest.raises(MakeError, match="“Choir” is not there any more"):
        actions.arrange(make=three[1], to=pile, by=owner)


def test_a_neighbour_that_another_window_took_away_loses_no_card(three, owner):
    a, b, c = three
    pile = f.PileFactory()
    actions.arrange(make=a, to=pile, source=IDEA, by=owner)
    actions.arrange(make=c, to=IDEA, before=a, source=IDEA, by=owner)
    assert sorted(loose()) == ["b", "c"]
    actions.arrange(make=b, to=pile, before=c, source=IDEA, by=owner)
    assert lying(pile) == ["a", "b"]


@pytest.mark.postgres
def test_piles_are_added_named_moved_and_removed(three, owner):
    a, b, _ = three
    choir, entry = actions.add_pile(name="Choir", makes=[a, b], by=owner)
    assert entry
    same, nothing = actions.add_pile(name="choir", makes=[a], by=owner)
    assert (same, nothing, lying(choir)) == (choir, None, ["a", "b"])
    party, _ = actions.add_pile(name="Party", by=owner)
    actions.arrange_pile(pile=party, before=choir)
    assert list(Pile.objects.all()) == [party, choir]
    actions.rename_pile(pile=choir, name="Concert", by=owner)
    entry = actions.remove_pile(pile=choir, by=owner)
    assert (list(Pile.objects.all()), loose()) == ([party], ["a", "b", "c"])
    history.undo(entry=entry, by=owner)
    assert [pile.name for pile in Pile.objects.all()] == ["Party", "Concert"]
    assert lying(choir) == ["a", "b"]


MOVES = st.lists(
    st.tuples(
        st.integers(0, 4), st.integers(0, 3), st.integers(-1, 4), st.integers(0, 3), st.booleans()
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
def test_any_moves_give_what_lists_of_names_would(moves, studio, owner):
    """Each area as a plain list, moved about by hand."""
    PilePlace.objects.all().delete()
    Make.objects.all().delete()
    Pile.objects.all().delete()
    makes = [f.MakeFactory(words=words, place=place) for place, words in enumerate("abcde")]
    areas = [IDEA, LINED_UP, f.PileFactory(), f.PileFactory()]
    lists: list[list[str]] = [list("abcde"), [], [], []]
    for which, to, before, chosen, also in moves:
        make, name = makes[which], "abcde"[which]
        neighbour = None if before in {-1, which} else makes[before]
        there = [place for place in range(4) if name in lists[place]]
        source = chosen if chosen in there else there[0]
        actions.arrange(
            make=make, to=areas[to], before=neighbour, source=areas[source], also=also, by=owner
        )
        _by_hand(lists, name, to, neighbour and neighbour.words, source, also)
        assert [loose(), *map(lying, areas[1:])] == lists
    assert set("".join(map("".join, lists))) == set("abcde")


def _by_hand(lists, name, to, before, source, also) -> None:
    """Loose is what lies in no pile and is not planned next: the first list."""
    line = lists[to]
    known = name in line
    if known:
        line.remove(name)
    line.insert(line.index(before) if before in line else len(line), name)
    if known or to == source:
        return
    if to == 0:
        leaves = {1, 2, 3}
    elif to == 1:
        leaves = {0} if also else {0, source}
    else:
        leaves = {0} if also or source == 0 else {0, source}
    for other in leaves - {to}:
        if name in lists[other]:
            lists[other].remove(name)
