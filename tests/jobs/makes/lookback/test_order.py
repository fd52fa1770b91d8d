"""Which idea comes when, which pair comes when, and what is wanted most."""

from datetime import timedelta
from itertools import combinations

import pytest

from jobs.makes.lookback import actions, queries
from jobs.makes.models import Look, Make
from jobs.makes.year.sitting import ideas_queue
from studio.shop import clock
from tests import factories as f

KEEP, _REST, LET_GO, UNSURE = Look.Answer


def days_ago(days):
    return clock.now() - timedelta(days=days)


def looked(make, days, **facts):
    return Look.objects.create(
        make=make, at=days_ago(days), **{"answer": KEEP, "was": "idea"} | facts
    )


def walk(since, owner):
    """The words of each idea of a whole round, all kept."""
    while (key := ideas_queue(since).at(None)) is not None:
        make = Make.objects.get(pk=key)
        yield make.words
        actions.answer(make=make, answer=KEEP, since=since, by=owner)


def test_those_not_looked_at_longest_come_first_and_none_twice(studio, owner):
    young = f.MakeFactory(words="thought of yesterday", added_at=days_ago(1))
    old = f.MakeFactory(words="looked at last week", added_at=days_ago(400))
    older = f.MakeFactory(words="looked at last year", added_at=days_ago(800))
    f.MakeFactory(words="never looked at", added_at=days_ago(90))
    looked(old, 7)
    looked(older, 365)
    looked(young, 0.5, undone_at=clock.now())
    assert list(walk(clock.now(), owner)) == [
        "looked at last year",
        "never looked at",
        "looked at last week",
        "thought of yesterday",
    ]


@pytest.mark.parametrize("state", ["under_way", "finished", "let_go"])
def test_only_ideas_and_what_is_lined_up_are_asked_about(studio, state, owner):
    f.MakeFactory(state=state)
    f.MakeFactory(state="lined_up", words="lined up")
    assert list(walk(clock.now(), owner)) == ["lined up"]


@pytest.mark.parametrize("count", [2, 3, 6])
def test_each_two_of_the_kept_come_once(studio, count, owner):
    makes = f.MakeFactory.create_batch(count)
    for make in makes:
        looked(make, 1)
    unsure, gone = f.MakeFactory(), f.MakeFactory(state="let_go")
    looked(unsure, 2)
    looked(unsure, 1, answer=UNSURE)
    looked(gone, 1)
    shown = []
    while two := queries.next_two(0):
        shown.append(frozenset(make.pk for make in two))
        actions.choose(rather=two[0], other=two[1], by=owner)
    assert sorted(map(sorted, shown)) == sorted(
        map(sorted, combinations([make.pk for make in makes], 2))
    )


def test_what_was_left_undecided_is_stepped_over(studio):
    for make in f.MakeFactory.create_batch(3):
        looked(make, 1)
    first, second = queries.next_two(0), queries.next_two(1)
    assert set(first) != set(second)
    assert queries.next_two(3) is None


def test_the_most_wanted_are_chosen_more_often_than_not(studio, owner):
    coat, dress, bag, gone = (f.MakeFactory(words=words) for words in ("coat", "dress", "bag", "?"))
    for rather, other in [(coat, dress), (coat, bag), (dress, bag), (gone, dress)]:
        actions.choose(rather=rather, other=other, by=owner)
    assert queries.most_wanted() == [coat, gone]
    type(gone).objects.filter(pk=gone.pk).update(state="let_go")
    actions.choose(rather=dress, other=f.MakeFactory(), by=owner)
    assert queries.most_wanted() == [coat, dress]
