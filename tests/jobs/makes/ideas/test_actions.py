"""The verbs of own sewing, taken once, taken twice, and taken back."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest

from jobs.makes.ideas import actions
from jobs.makes.ideas.actions import MakeError
from jobs.makes.ideas.queries import freed_by
from jobs.makes.lengths import parse_cloth
from jobs.makes.models import ClothPlan, Fate, Make, MakeState, Picture
from studio.shop import clock, history
from studio.shop.history import HistoryError
from tests import factories as f

NOON = datetime(2026, 3, 4, 12, tzinfo=ZoneInfo("Europe/Dublin"))


@pytest.fixture(autouse=True)
def _a_day_in_march(studio):
    with clock.pretend(NOON):
        yield


def again(make: Make) -> Make:
    return Make.objects.get(pk=make.pk)


def order(state: MakeState = MakeState.IDEA) -> list[str]:
    return [make.words for make in Make.objects.filter(state=state)]


def test_a_few_words_make_an_idea(owner):
    made, _ = actions.add_idea(words="Linen top", form_key=uuid4(), by=owner)
    make = Make.objects.get()
    assert (make, make.words, make.state, make.added_at) == (
        made,
        "Linen top",
        MakeState.IDEA,
        NOON,
    )


def test_an_idea_sent_twice_is_one(owner):
    key = uuid4()
    _, first = actions.add_idea(
        words="Linen top", form_key=key, pictures=[f.PictureFactory()], by=owner
    )
    _, second = actions.add_idea(
        words="Linen top", form_key=key, pictures=[f.PictureFactory()], by=owner
    )
    assert (bool(first), second) == (True, None)
    assert Make.objects.get().pictures.count() == 1


def test_other_words_sent_from_an_old_page_are_refused(owner):
    """The browser's way back shows a form that has been sent; nobody is told it was saved."""
    key = uuid4()
    made, _ = actions.add_idea(words="Linen top", form_key=key, by=owner)
    for act in (actions.add_idea, actions.made_on_a_whim):
        with pytest.raises(actions.CardMadeError, match="already saved as “Linen top”") as again:
            act(words="Wool skirt", form_key=key, by=owner)
        assert again.value.make == made
    with pytest.raises(actions.CardMadeError):
        actions.add_idea(words="Linen top", heat=4, form_key=key, by=owner)
    assert order() == ["Linen top"]


def test_an_idea_may_come_with_its_cloth(owner):
    cloth = f.ClothFactory()
    actions.add_idea(
        words="Linen top",
        form_key=uuid4(),
        cloth=cloth,
        length=parse_cloth("1,6", "m"),
        heat=4,
        by=owner,
    )
    plan = ClothPlan.objects.get()
    assert (plan.cloth, plan.mm, plan.typed, plan.make.heat) == (cloth, 1600, "1,6 m", 4)


def test_what_was_made_on_a_whim_is_finished_today(owner):
    key = uuid4()
    actions.made_on_a_whim(words="Tote bag", form_key=key, by=owner)
    actions.made_on_a_whim(words="Tote bag", form_key=key, by=owner)
    make = Make.objects.get()
    assert (make.state, make.whim, make.finished_on) == ("finished", True, date(2026, 3, 4))


def test_today_is_the_studios_day(owner):
    with clock.pretend(datetime(2026, 7, 1, 23, 30, tzinfo=ZoneInfo("UTC"))):
        actions.made_on_a_whim(words="Tote bag", form_key=uuid4(), by=owner)
    assert Make.objects.get().finished_on == date(2026, 7, 2)


def test_a_card_that_moves_hangs_on_top(owner):
    bottom, top = f.MakeFactory(words="bottom"), f.MakeFactory(words="top")
    f.MakeFactory(words="started first", state=MakeState.UNDER_WAY)
    actions.start(make=bottom, by=owner)
    assert order(MakeState.UNDER_WAY) == ["bottom", "started first"]
    assert again(bottom).started_at == NOON
    actions.move_card(make=bottom, to=MakeState.IDEA, by=owner)
    assert order() == ["bottom", "top"]
    with clock.pretend(NOON + timedelta(days=9)):
        actions.start(make=bottom, by=owner)
    assert again(bottom).started_at == NOON
    assert again(top).started_at is None


def test_finished_with_day_photograph_and_what_was_learnt(jpeg, owner):
    make = f.MakeFactory(state=MakeState.UNDER_WAY, changes="Hem 2 cm longer")
    facts = {"make": make, "day": date(2026, 3, 1), "photo": jpeg, "learnt": "Cut on the bias"}
    assert actions.finish(**facts, by=owner)
    assert actions.finish(**facts, by=owner) is None
    now = again(make)
    assert (now.finished_on, now.learnt) == (date(2026, 3, 1), "Cut on the bias")
    assert now.changes == "Hem 2 cm longer"
    assert [picture.file.read() for picture in now.pictures.all()] == [jpeg.jpeg]


def test_a_photograph_of_what_cannot_be_finished_leaves_no_file(jpeg, owner):
    make = f.MakeFactory(state=MakeState.LET_GO)
    with pytest.raises(MakeError):
        actions.finish(make=make, photo=jpeg, by=owner)
    assert not Picture.objects.exists()


def test_let_go_and_taken_up_again(owner):
    make = f.MakeFactory(heat=2)
    actions.let_go(make=make, by=owner)
    assert (again(make).state, again(make).let_go_at) == ("let_go", NOON)
    assert actions.let_go(make=make, by=owner) is None
    actions.take_up(make=make, by=owner)
    assert (again(make).state, again(make).let_go_at, again(make).heat) == ("idea", None, 2)
    assert actions.take_up(make=make, by=owner) is None


@pytest.mark.postgres
def test_letting_go_frees_the_cloth_and_undo_means_it_again(owner):
    make = f.MakeFactory(words="Coat")
    f.ClothPlanFactory(make=make, cloth__name="Boiled wool", mm=Decimal("2171.7"), typed="2 3/8 yd")
    f.ClothPlanFactory(make=make, cloth__name="Lining")
    meant = list(make.cloth_plans.values_list("cloth", "mm", "typed"))
    entry = actions.let_go(make=make, by=owner)
    assert freed_by(entry) == "Boiled wool and Lining are free for something else."
    assert not make.cloth_plans.exists()
    for _ in range(2):
        undone = history.undo(entry=entry, by=owner)
        assert history.sentence(undone, "en_IE") == "Undone: Let go: Coat"
        assert list(make.cloth_plans.values_list("cloth", "mm", "typed")) == meant


def test_cloth_that_is_free_stays_so_when_it_is_taken_up_again(owner):
    plan = f.ClothPlanFactory()
    entry = actions.let_go(make=plan.make, by=owner)
    actions.take_up(make=plan.make, by=owner)
    assert not plan.make.cloth_plans.exists()
    with pytest.raises(HistoryError, match="changed since"):
        history.undo(entry=entry, by=owner)


def test_what_is_not_finished_after_all_is_under_way(owner):
    make = f.MakeFactory(state=MakeState.FINISHED, finished_on=date(2026, 3, 1), fate=Fate.OFTEN)
    actions.take_up(make=make, by=owner)
    now = again(make)
    assert (now.state, now.finished_on, now.fate) == ("under_way", None, "")


@pytest.mark.parametrize("state", [MakeState.FINISHED, MakeState.LET_GO])
@pytest.mark.parametrize(
    "act",
    [
        actions.start,
        lambda **who: actions.move_card(**who, to=MakeState.LINED_UP),
        lambda make, by: (actions.let_go if make.state == MakeState.FINISHED else actions.finish)(
            make=make, by=by
        ),
    ],
    ids=["start", "line up", "put away otherwise"],
)
def test_what_is_put_away_is_taken_up_first(act, state, owner):
    make = f.MakeFactory(state=state)
    with pytest.raises(MakeError, match="Take it up again first"):
        act(make=make, by=owner)
    assert again(make).state == state


def test_a_fate_is_for_finished_makes_only(owner):
    make = f.MakeFactory()
    with pytest.raises(MakeError, match="once it is finished"):
        actions.set_fate(make=make, fate=Fate.OFTEN, by=owner)
    actions.finish(make=make, by=owner)
    actions.set_fate(make=make, fate=Fate.OFTEN, by=owner)
    assert again(make).fate == "often"
    actions.set_fate(make=make, fate=Fate.UNKNOWN, by=owner)
    assert again(make).fate == ""


def test_a_picture_sent_twice_is_one(jpeg, owner):
    make, key = f.MakeFactory(), uuid4()
    actions.add_pictures(make=make, photos=[jpeg], sketch=jpeg, form_key=key, by=owner)
    actions.add_pictures(make=make, photos=[jpeg], sketch=jpeg, form_key=key, by=owner)
    assert [picture.drawn for picture in make.pictures.all()] == [False, True]
    # Another one that is sent from the same page is one more.
    actions.add_pictures(make=make, sketch=jpeg, form_key=key, by=owner)
    assert [picture.drawn for picture in make.pictures.all()] == [False, True, True]


def test_cloth_is_meant_for_a_make_once(owner):
    make, cloth = f.MakeFactory(), f.ClothFactory()
    actions.mean_cloth(make=make, cloth=cloth, length=None, by=owner)
    actions.mean_cloth(make=make, cloth=cloth, length=parse_cloth("2 3/8 yd", "m"), by=owner)
    # 2 3/8 yards of 914.4 mm (international yard and pound agreement, 1959).
    assert [plan.mm for plan in make.cloth_plans.all()] == [Decimal("2171.7")]
    actions.spare_cloth(make=make, cloth=cloth, by=owner)
    actions.spare_cloth(make=make, cloth=cloth, by=owner)
    assert list(make.cloth_plans.all()) == []


STEPS = {
    "start": actions.start,
    "line up": lambda **who: actions.move_card(**who, to=MakeState.LINED_UP),
    "finish": lambda **who: actions.finish(**who, learnt="Much", changes=""),
    "let go": actions.let_go,
    "heat": lambda **who: actions.set_heat(**who, heat=5),
    "describe": lambda **who: actions.describe(
        **who, words="Other", pattern=f.PatternFactory(), wear_by=date(2026, 6, 6), planned=True
    ),
    "picture off": lambda make, **who: actions.take_picture_off(
        make=make, picture=make.pictures.get(), **who
    ),
}


def whole(make: Make) -> dict:
    row = Make.objects.filter(pk=make.pk).values().get()
    return row | {"pictures": list(make.pictures.values_list("pk", flat=True))}


@pytest.mark.postgres
@pytest.mark.parametrize("name", STEPS)
def test_each_step_is_undone_once_however_often_that_is_sent(name, owner):
    make = f.MakeFactory(words="Linen top", heat=2, changes="Hem", pattern=f.PatternFactory())
    make.pictures.add(f.PictureFactory())
    before = whole(make)
    entry = STEPS[name](make=make, by=owner)
    assert whole(make) != before
    for _ in range(2):
        history.undo(entry=entry, by=owner)
        assert whole(make) == before


def test_a_fate_and_a_taking_up_are_undone(owner):
    make = f.MakeFactory(state=MakeState.FINISHED, finished_on=date(2026, 3, 1))
    fate = actions.set_fate(make=make, fate=Fate.GIVEN, by=owner)
    history.undo(entry=fate, by=owner)
    assert again(make).fate == ""
    up = actions.take_up(make=make, by=owner)
    history.undo(entry=up, by=owner)
    assert (again(make).state, again(make).finished_on) == ("finished", date(2026, 3, 1))


def test_what_changed_since_is_not_undone(owner):
    make = f.MakeFactory()
    first = actions.set_heat(make=make, heat=2, by=owner)
    actions.set_heat(make=make, heat=5, by=owner)
    with pytest.raises(HistoryError, match="changed since"):
        history.undo(entry=first, by=owner)
    assert again(make).heat == 5


def test_a_move_is_undone_though_other_cards_came_above_it(owner):
    make = f.MakeFactory()
    entry = actions.start(make=make, by=owner)
    actions.start(make=f.MakeFactory(), by=owner)
    history.undo(entry=entry, by=owner)
    assert again(make).state == "idea"


def test_an_idea_undone_is_gone_with_its_picture(django_capture_on_commit_callbacks, owner):
    picture = f.PictureFactory()
    _, entry = actions.add_idea(words="Linen top", form_key=uuid4(), pictures=[picture], by=owner)
    with django_capture_on_commit_callbacks(execute=True):
        undone = history.undo(entry=entry, by=owner)
    assert history.undo(entry=entry, by=owner) == undone
    assert not Make.objects.exists()
    assert not Picture.objects.exists()
    assert not picture.file.storage.exists(str(picture.file))


def test_an_idea_with_work_on_it_is_not_undone_away(owner):
    make, entry = actions.made_on_a_whim(words="Tote bag", form_key=uuid4(), by=owner)
    f.BenchTimeFactory(line=None, purpose="own", make=make)
    with pytest.raises(HistoryError, match="stands on this by now"):
        history.undo(entry=entry, by=owner)
    assert again(make).words == "Tote bag"


def test_an_idea_that_went_on_is_not_undone_away(owner):
    make, entry = actions.add_idea(words="Linen top", form_key=uuid4(), by=owner)
    actions.start(make=make, by=owner)
    with pytest.raises(HistoryError, match="changed since"):
        history.undo(entry=entry, by=owner)
