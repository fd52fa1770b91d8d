"""The verbs of own sewing, taken once, taken twice, and taken back."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.core import signing

from jobs.makes.ideas import actions
from jobs.makes.ideas.actions import MakeError
from jobs.makes.ideas.steps import unsealed
from jobs.makes.lengths import parse_cloth
from jobs.makes.models import ClothPlan, Fate, Make, Picture, State
from studio.shop import clock
from tests import factories as f

NOON = datetime(2026, 3, 4, 12, tzinfo=ZoneInfo("Europe/Dublin"))


@pytest.fixture(autouse=True)
def _a_day_in_march(studio):
    with clock.pretend(NOON):
        yield


def again(make: Make) -> Make:
    return Make.objects.get(pk=make.pk)


def order(state: State = State.IDEA) -> list[str]:
    return [make.words for make in Make.objects.filter(state=state)]


def test_a_few_words_make_an_idea():
    step = actions.add_idea(words="Linen top", form_key=uuid4())
    make = Make.objects.get()
    assert (make.pk, make.words, make.state, make.added_at) == (
        step.make, "Linen top", State.IDEA, NOON,
    )  # fmt: skip


def test_an_idea_sent_twice_is_one():
    key = uuid4()
    first = actions.add_idea(words="Linen top", form_key=key, pictures=[f.PictureFactory()])
    second = actions.add_idea(words="Linen top", form_key=key, pictures=[f.PictureFactory()])
    assert (first.changed, second.changed) == (True, False)
    assert Make.objects.get().pictures.count() == 1


def test_other_words_sent_from_an_old_page_are_another_idea():
    """The browser's way back shows a form that has been sent; nothing typed there may be lost."""
    key = uuid4()
    actions.add_idea(words="Linen top", form_key=key)
    actions.add_idea(words="Wool skirt", form_key=key)
    assert order() == ["Wool skirt", "Linen top"]


def test_an_idea_may_come_with_its_cloth():
    cloth = f.ClothFactory()
    actions.add_idea(
        words="Linen top", form_key=uuid4(), cloth=cloth, length=parse_cloth("1,6", "m"), heat=4
    )
    plan = ClothPlan.objects.get()
    assert (plan.cloth, plan.mm, plan.typed, plan.make.heat) == (cloth, 1600, "1,6 m", 4)


def test_what_was_made_on_a_whim_is_finished_today():
    key = uuid4()
    actions.made_on_a_whim(words="Tote bag", form_key=key)
    actions.made_on_a_whim(words="Tote bag", form_key=key)
    make = Make.objects.get()
    assert (make.state, make.whim, make.finished_on) == ("finished", True, date(2026, 3, 4))


def test_today_is_the_studios_day():
    with clock.pretend(datetime(2026, 7, 1, 23, 30, tzinfo=ZoneInfo("UTC"))):
        actions.made_on_a_whim(words="Tote bag", form_key=uuid4())
    assert Make.objects.get().finished_on == date(2026, 7, 2)


def test_a_card_that_moves_hangs_on_top():
    bottom, top = f.MakeFactory(words="bottom"), f.MakeFactory(words="top")
    f.MakeFactory(words="started first", state=State.UNDER_WAY)
    actions.start(make=bottom)
    assert order(State.UNDER_WAY) == ["bottom", "started first"]
    assert again(bottom).started_at == NOON
    actions.move_card(make=bottom, to=State.IDEA)
    assert order() == ["bottom", "top"]
    with clock.pretend(NOON + timedelta(days=9)):
        actions.start(make=bottom)
    assert again(bottom).started_at == NOON
    assert again(top).started_at is None


def test_up_and_down_among_its_own():
    third, second, first = (f.MakeFactory(words=words) for words in ("third", "second", "first"))
    f.MakeFactory(words="elsewhere", state=State.LINED_UP)
    assert order() == ["first", "second", "third"]
    actions.move_up_or_down(make=third, step=-1, place=2)
    assert order() == ["first", "third", "second"]
    actions.move_up_or_down(make=first, step=1, place=0)
    assert order() == ["third", "first", "second"]
    actions.move_up_or_down(make=third, step=-1, place=0)
    actions.move_up_or_down(make=second, step=1, place=2)
    assert order() == ["third", "first", "second"]


def test_down_sent_twice_moves_once():
    for words in ("third", "second", "first"):
        f.MakeFactory(words=words)
    first = Make.objects.get(words="first")
    actions.move_up_or_down(make=first, step=1, place=0)
    actions.move_up_or_down(make=first, step=1, place=0)
    assert order() == ["second", "first", "third"]


def test_finished_with_day_picture_and_what_was_learnt():
    make = f.MakeFactory(state=State.UNDER_WAY, changes="Hem 2 cm longer")
    picture = f.PictureFactory()
    told = {"make": make, "day": date(2026, 3, 1), "picture": picture, "learnt": "Cut on the bias"}
    step = actions.finish(**told)
    assert step.changed
    assert not actions.finish(**told).changed
    now = again(make)
    assert (now.finished_on, now.learnt) == (date(2026, 3, 1), "Cut on the bias")
    assert now.changes == "Hem 2 cm longer"
    assert list(now.pictures.all()) == [picture]


def test_let_go_and_taken_up_again():
    make = f.MakeFactory(heat=2)
    actions.let_go(make=make)
    assert (again(make).state, again(make).let_go_at) == ("let_go", NOON)
    assert not actions.let_go(make=make).changed
    actions.take_up(make=make)
    assert (again(make).state, again(make).let_go_at, again(make).heat) == ("idea", None, 2)
    assert not actions.take_up(make=make).changed


def test_letting_go_frees_the_cloth_and_undo_means_it_again():
    make = f.MakeFactory(words="Coat")
    f.ClothPlanFactory(make=make, cloth__name="Boiled wool", mm=Decimal("2171.7"), typed="2 3/8 yd")
    f.ClothPlanFactory(make=make, cloth__name="Lining")
    meant = list(make.cloth_plans.values_list("cloth", "mm", "typed"))
    step = actions.let_go(make=make)
    assert step.aside == "Boiled wool and Lining are free for something else."
    assert not make.cloth_plans.exists()
    for _ in range(2):
        assert actions.undo(step=unsealed(step.sealed())) == "Undone. Let go, with thanks: Coat"
        assert list(make.cloth_plans.values_list("cloth", "mm", "typed")) == meant


def test_cloth_that_is_free_stays_so_when_it_is_taken_up_again():
    plan = f.ClothPlanFactory()
    step = actions.let_go(make=plan.make)
    actions.take_up(make=plan.make)
    assert not plan.make.cloth_plans.exists()
    with pytest.raises(MakeError, match="changed since"):
        actions.undo(step=step)


def test_what_is_not_finished_after_all_is_under_way():
    make = f.MakeFactory(state=State.FINISHED, finished_on=date(2026, 3, 1), fate=Fate.OFTEN)
    actions.take_up(make=make)
    now = again(make)
    assert (now.state, now.finished_on, now.fate) == ("under_way", None, "")


@pytest.mark.parametrize("state", [State.FINISHED, State.LET_GO])
@pytest.mark.parametrize(
    "act",
    [
        actions.start,
        lambda make: actions.move_card(make=make, to=State.LINED_UP),
        lambda make: (actions.let_go if make.state == State.FINISHED else actions.finish)(
            make=make
        ),
    ],
    ids=["start", "line up", "put away otherwise"],
)
def test_what_is_put_away_is_taken_up_first(act, state):
    make = f.MakeFactory(state=state)
    with pytest.raises(MakeError, match="Take it up again first"):
        act(make=make)
    assert again(make).state == state


def test_a_fate_is_for_finished_makes_only():
    make = f.MakeFactory()
    with pytest.raises(MakeError, match="once it is finished"):
        actions.set_fate(make=make, fate=Fate.OFTEN)
    actions.finish(make=make)
    actions.set_fate(make=make, fate=Fate.OFTEN)
    assert again(make).fate == "often"
    actions.set_fate(make=make, fate=Fate.UNKNOWN)
    assert again(make).fate == ""


def test_a_picture_sent_twice_is_one(jpeg):
    make, key = f.MakeFactory(), uuid4()
    actions.add_pictures(make=make, photo=jpeg, sketch=jpeg, form_key=key)
    actions.add_pictures(make=make, photo=jpeg, sketch=jpeg, form_key=key)
    assert [picture.drawn for picture in make.pictures.all()] == [False, True]


def test_cloth_is_meant_for_a_make_once():
    make, cloth = f.MakeFactory(), f.ClothFactory()
    actions.mean_cloth(make=make, cloth=cloth, length=None)
    actions.mean_cloth(make=make, cloth=cloth, length=parse_cloth("2 3/8 yd", "m"))
    # 2 3/8 yards of 914.4 mm (international yard and pound agreement, 1959).
    assert [plan.mm for plan in make.cloth_plans.all()] == [Decimal("2171.7")]
    actions.spare_cloth(make=make, cloth=cloth)
    actions.spare_cloth(make=make, cloth=cloth)
    assert list(make.cloth_plans.all()) == []


STEPS = {
    "start": lambda make: actions.start(make=make),
    "line up": lambda make: actions.move_card(make=make, to=State.LINED_UP),
    "finish": lambda make: actions.finish(
        make=make, picture=f.PictureFactory(), learnt="Much", changes=""
    ),
    "let go": lambda make: actions.let_go(make=make),
    "heat": lambda make: actions.set_heat(make=make, heat=5),
    "describe": lambda make: actions.describe(
        make=make, words="Other", pattern=f.PatternFactory(), wear_by=date(2026, 6, 6), planned=True
    ),
    "picture off": lambda make: actions.take_picture_off(
        make=make, picture=make.pictures.get()
    ),
}  # fmt: skip


def whole(make: Make) -> dict:
    row = Make.objects.filter(pk=make.pk).values().get()
    return row | {"pictures": list(make.pictures.values_list("pk", flat=True))}


@pytest.mark.parametrize("name", STEPS)
def test_each_step_is_undone_once_however_often_that_is_sent(name):
    make = f.MakeFactory(words="Linen top", heat=2, changes="Hem", pattern=f.PatternFactory())
    make.pictures.add(f.PictureFactory())
    before = whole(make)
    step = STEPS[name](make)
    assert whole(make) != before
    for _ in range(2):
        assert actions.undo(step=unsealed(step.sealed())).startswith("Undone.")
        assert whole(make) == before


def test_a_fate_and_a_taking_up_are_undone():
    make = f.MakeFactory(state=State.FINISHED, finished_on=date(2026, 3, 1))
    fate = actions.set_fate(make=make, fate=Fate.GIVEN)
    actions.undo(step=fate)
    assert again(make).fate == ""
    up = actions.take_up(make=make)
    actions.undo(step=unsealed(up.sealed()))
    assert (again(make).state, again(make).finished_on) == ("finished", date(2026, 3, 1))


def test_what_changed_since_is_not_undone():
    make = f.MakeFactory()
    first = actions.set_heat(make=make, heat=2)
    actions.set_heat(make=make, heat=5)
    with pytest.raises(MakeError, match="changed since"):
        actions.undo(step=first)
    assert again(make).heat == 5


def test_a_move_is_undone_though_other_cards_came_above_it():
    make = f.MakeFactory()
    step = actions.start(make=make)
    actions.start(make=f.MakeFactory())
    actions.undo(step=step)
    assert again(make).state == "idea"


def test_an_idea_undone_is_gone_with_its_picture(django_capture_on_commit_callbacks):
    picture = f.PictureFactory()
    step = actions.add_idea(words="Linen top", form_key=uuid4(), pictures=[picture])
    with django_capture_on_commit_callbacks(execute=True):
        actions.undo(step=step)
    assert actions.undo(step=step) == "Undone. Kept: Linen top"
    assert not Make.objects.exists()
    assert not Picture.objects.exists()
    assert not picture.file.storage.exists(str(picture.file))


def test_an_idea_with_work_on_it_is_not_undone_away():
    step = actions.made_on_a_whim(words="Tote bag", form_key=uuid4())
    make = Make.objects.get()
    f.BenchTimeFactory(line=None, purpose="own", make=make)
    with pytest.raises(MakeError, match="booked on it already"):
        actions.undo(step=step)
    assert again(make).words == "Tote bag"


def test_an_idea_that_went_on_is_not_undone_away():
    step = actions.add_idea(words="Linen top", form_key=uuid4())
    actions.start(make=Make.objects.get())
    with pytest.raises(MakeError, match="changed since"):
        actions.undo(step=step)


def test_an_undo_is_believed_only_as_the_page_made_it():
    step = actions.set_heat(make=f.MakeFactory(), heat=2)
    sealed = step.sealed()
    assert unsealed(sealed) == step
    for wrong in ("", "x", sealed[:-1] + ("a" if sealed[-1] != "a" else "b")):
        with pytest.raises(signing.BadSignature):
            unsealed(wrong)
