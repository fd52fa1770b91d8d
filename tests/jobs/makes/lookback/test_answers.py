"""Answers of the look back: what each does, said once and twice, and taken back."""

from datetime import timedelta
from decimal import Decimal

import pytest

from jobs.makes.ideas import actions as ideas
from jobs.makes.ideas.actions import MakeError
from jobs.makes.ideas.queries import freed_by
from jobs.makes.lookback import actions
from jobs.makes.models import ClothMove, Look, Make, Pair
from studio.shop import clock, history
from studio.shop.history import HistoryError
from tests import factories as f

KEEP, _REST, LET_GO, UNSURE = Look.Answer


@pytest.fixture
def since(studio):
    return clock.now() - timedelta(minutes=1)


@pytest.fixture
def answered(owner):
    """The owner answers; gives the entry of the history."""

    def answer(make, answer, since):
        return actions.answer(make=make, answer=answer, since=since, by=owner)

    return answer


@pytest.mark.parametrize("answer", [KEEP, UNSURE])
def test_what_is_not_let_go_hangs_where_it_hung(answer, since, answered):
    make = f.MakeFactory(state="lined_up", place=3)
    answered(make, answer, since)
    make.refresh_from_db()
    assert (make.state, make.place) == ("lined_up", 3)
    assert Look.objects.get().answer == answer


def test_what_is_let_go_frees_its_cloth_and_says_so(since, answered):
    plan = f.ClothPlanFactory(
        make__words="Blue coat", cloth__name="Boiled wool", mm=Decimal(2100), typed="2.1 m"
    )
    entry = answered(plan.make, LET_GO, since)
    plan.make.refresh_from_db()
    assert plan.make.state == "let_go"
    assert plan.make.let_go_at
    assert not plan.make.cloth_plans.exists()
    assert history.sentence(entry, "en_IE") == "Let go: Blue coat"
    assert freed_by(entry) == "Boiled wool is free for something else."


def test_no_cloth_is_moved_by_letting_go(since, answered):
    plan = f.ClothPlanFactory()
    before = ClothMove.objects.count()
    answered(plan.make, LET_GO, since)
    plan.cloth.refresh_from_db()
    assert (plan.cloth.left_mm, ClothMove.objects.count()) == (3000, before)


def test_the_same_answer_twice_is_one(since, answered):
    make = f.MakeFactory()
    assert answered(make, LET_GO, since)
    assert not answered(make, LET_GO, since)
    assert Look.objects.count() == 1


def test_another_answer_in_the_same_sitting_replaces_the_first(since, answered):
    make = f.MakeFactory()
    answered(make, KEEP, since)
    answered(make, UNSURE, since)
    assert Look.objects.get(undone_at=None).answer == UNSURE


def test_what_is_put_away_cannot_be_answered_for(since, answered):
    make = f.MakeFactory(state="finished", finished_on=clock.today())
    with pytest.raises(MakeError, match="hangs no longer"):
        answered(make, KEEP, since)


@pytest.mark.parametrize("times", [1, 2])
def test_taken_back_it_is_as_it_was(times, since, owner, answered):
    plan = f.ClothPlanFactory(make__state="lined_up", mm=Decimal("2171.7"), typed="2 3/8 yd")
    f.ClothPlanFactory(make=plan.make)
    entry = answered(plan.make, LET_GO, since)
    for _ in range(times):
        history.undo(entry=entry, by=owner)
    make = Make.objects.get()
    assert (make.state, make.let_go_at) == ("lined_up", None)
    plans = make.cloth_plans.order_by("pk").values_list("cloth", "mm", "typed")
    assert plans[0] == (plan.cloth_id, Decimal("2171.7"), "2 3/8 yd")
    assert plans[1][1:] == (None, "")


def test_what_was_taken_up_meanwhile_is_left_alone(since, owner, answered):
    make = f.ClothPlanFactory().make
    entry = answered(make, LET_GO, since)
    ideas.take_up(make=make, by=owner)
    with pytest.raises(HistoryError, match="changed since"):
        history.undo(entry=entry, by=owner)
    assert not Look.objects.get().undone_at


@pytest.mark.postgres
def test_of_two_the_last_word_counts(studio, owner):
    first, other = f.MakeFactory.create_batch(2)
    for _ in range(2):
        actions.choose(rather=first, other=other, by=owner)
    actions.choose(rather=other, other=first, by=owner)
    assert list(Pair.objects.values_list("rather", "other")) == [(other.pk, first.pk)]
