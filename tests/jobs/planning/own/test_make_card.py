"""The card of a make: its pictures, its facts with cloth, patterns, hours and cost, its acts."""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape
from uuid import uuid4

import pytest
from django.urls import reverse

from jobs.makes.models import ClothMove, Make, MakeState, Picture
from jobs.makes.shelf.queries import shares_of
from jobs.planning.models import Bought, Todo
from studio.shop import clock
from tests import factories as f
from tests.jobs.makes.ideas.conftest import file_of
from tests.windows import Window

pytestmark = pytest.mark.usefixtures("studio")


def post(client, page, /, *args, **facts):
    return client.post(reverse(page, args=args), facts, follow=True)


def told(page: str) -> str:
    """The page's words, one space apart."""
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


@pytest.fixture
def coat():
    """Under way, of 3 m of wool for €60: 2.2 m meant, of two patterns."""
    pattern = f.PatternFactory(name="Wrap coat", notions="Thread\nFour buttons", minutes=600)
    make = f.MakeFactory(words="Red coat", state=MakeState.UNDER_WAY, pattern=pattern, size="42")
    f.FurtherPatternFactory(make=make, pattern__name="Collar", changes="1 cm higher")
    wool = f.ClothFactory(name="Red wool", price=6000, left_mm=Decimal(3000))
    f.ClothPlanFactory(make=make, cloth=wool, mm=Decimal(2200), typed="2.2 m")
    return make


def wool_of(make: Make):
    return make.cloth_plans.get().cloth


def test_the_steps_of_a_make_are_a_stack_and_the_face_is_chosen(owner_client, coat):
    for step in ("idea", "cut", "fitted", "fitted"):
        sent = {"photos": file_of("JPEG", "a.jpg"), "shows": step, "form_key": str(uuid4())}
        post(owner_client, "make-picture", coat.pk, **sent)
    idea, _cut, first, newest = coat.pictures.all()
    page = owner_client.get(coat.get_absolute_url()).text
    front = re.search(r'<figure class="front"><a href="([^"]+)"', page)
    assert front[1] == newest.get_absolute_url()
    names = ["Idea", "Sketch", "Cloth", "Cut", "Fitted", "Worn"]
    steps = re.search(r'<ol class="steps">(.*?)</ol>', page, re.DOTALL)[1]
    hidden = r'<span class="visually-hidden">[^<]+</span>'
    assert re.findall(rf'class="cap">(?:{hidden})?(\w+)', steps) == names
    assert 'id="step-fitted" hx-boost="true" aria-current="true"' in steps
    page = owner_client.get(coat.get_absolute_url(), {"picture": idea.pk}).text
    assert f'<figure class="front"><a href="{idea.get_absolute_url()}"' in page

    post(owner_client, "make-picture-says", coat.pk, first.pk, face="1")
    page = post(owner_client, "make-picture-says", coat.pk, first.pk, shows="worn").text
    coat.refresh_from_db()
    first.refresh_from_db()
    assert (coat.face, first.step) == (first, Picture.Step.WORN)
    assert re.search(r'aria-pressed="true">On the wall', page)
    post(owner_client, "make-picture-says", coat.pk, first.pk, face="")
    coat.refresh_from_db()
    assert coat.face is None
    post(owner_client, "make-picture-says", coat.pk, first.pk, shows="moon")
    assert coat.pictures.get(pk=first.pk).step == Picture.Step.WORN


def test_facts_on_the_back(owner_client, helper_client, owner, coat):
    """Hours: 90 min of 600. Cost by hand: 1.5 m of 3 m for €60 are €30, and €12.10 for notions."""
    f.BenchTimeFactory(line=None, make=coat, purpose="own", minutes=90, by=owner)
    f.TodoFactory(words="Press it", side="mine", make=coat)
    f.TodoFactory(words="Return the scissors", side="studio", make=coat)
    wool = wool_of(coat)
    post(owner_client, "make-cut", coat.pk, cloth=wool.pk, length="1.5", form_key=uuid4())
    page = post(owner_client, "make-say", coat.pk, stopped="Hem", paid="12.10", note="See x").text
    shown = told(page)
    for words in (
        "1 h 30 of about 10 h , by the pattern", "1.5 m cut 0.7 m meant 0.8 m free of 3 m",
        "Wrap coat , size 42", "Collar 1 cm higher Carry into the pattern", "Thread",
        "Four buttons", "€42.10 : cloth €30.00, notions €12.10", "Press it", "Return the scissors",
    ):  # fmt: skip
        assert words in shown
    assert 'value="Hem"' in page
    helped = told(helper_client.get(coat.get_absolute_url()).text)
    assert "Return the scissors" in helped
    assert "Press it" not in helped
    assert "€" not in helped


def test_a_guess_says_whence_it_is_known(owner_client, coat):
    for minutes in (300, 500):
        make = f.MakeFactory(pattern=coat.pattern, state="finished", finished_on=clock.today())
        f.BenchTimeFactory(line=None, make=make, purpose="own", minutes=minutes)
    shown = told(owner_client.get(coat.get_absolute_url()).text)
    assert "About 6 h 40 , as the 2 makes before took" in shown
    page = post(owner_client, "make-say", coat.pk, minutes="9").text
    assert "About 9 h , your guess" in told(page)


def test_what_hangs_on_it_is_ticked_on_its_card(owner_client, coat):
    back = {"back": coat.get_absolute_url()}
    answer = post(owner_client, "todo-bought", coat.pk, notion="Thread", done="1", **back)
    assert answer.redirect_chain[-1][0] == coat.get_absolute_url()
    assert re.search(r'aria-pressed="true" aria-label="Here: Thread"', answer.text)
    assert Bought.objects.get().make == coat
    post(owner_client, "make-todo", coat.pk, words="Press  it")
    line = Todo.objects.get()
    assert (line.words, line.side, line.make) == ("Press it", "mine", coat)
    post(owner_client, "todo-tick", line.pk, done="1", **back)
    line.refresh_from_db()
    assert line.done_at is not None


def test_finishing_asks_once_what_is_left(owner_client, coat):
    """2 m are cut of 3 m, 0.2 m more are meant: 0.8 m would be left. 1.1 m says that 0.1 m of what
    was cut was put back; 0.5 m of another cloth that nobody cut says that 2.5 m of it were.
    """
    wool, lining = wool_of(coat), f.ClothFactory(name="Lining", left_mm=Decimal(3000))
    f.ClothPlanFactory(make=coat, cloth=lining)
    post(owner_client, "make-cut", coat.pk, cloth=wool.pk, length="2 m", form_key=uuid4())
    form = owner_client.get(reverse("make-finish", args=[coat.pk])).text
    assert re.search(rf'name="left-{wool.pk}" value="0.8 m"', form)
    assert re.search(rf'name="left-{lining.pk}"[^>]*placeholder="of 3 m"', form)
    sent = {f"left-{wool.pk}": "1.1 m", f"left-{lining.pk}": "50 cm", "day": clock.today()}
    page = post(owner_client, "make-finish", coat.pk, **sent).text
    assert "Finished on" in page
    for cloth, cut, free in ((wool, 1900, 1100), (lining, 2500, 500)):
        cloth.refresh_from_db()
        shares = shares_of([cloth])[cloth.pk]
        assert (shares.cut, shares.meant, shares.free) == (cut, 0, free)
    entry = re.search(r'name="entry" value="(\d+)"', page)[1]
    post(owner_client, "own-undo", entry=entry)
    lining.refresh_from_db()
    coat.refresh_from_db()
    assert (coat.state, lining.left_mm) == (MakeState.UNDER_WAY, 3000)
    wrong = {f"left-{wool.pk}": "a bit", "day": clock.today()}
    assert "Write a length such as" in post(owner_client, "make-finish", coat.pk, **wrong).text
    coat.refresh_from_db()
    assert coat.state == MakeState.UNDER_WAY


@pytest.mark.postgres
def test_more_left_than_there_was_is_measured_again(owner_client):
    plan = f.ClothPlanFactory(cloth__left_mm=Decimal(1000))
    sent = {f"left-{plan.cloth.pk}": "1.2 m", "day": clock.today()}
    post(owner_client, "make-finish", plan.make.pk, **sent)
    move = plan.cloth.moves.first()
    assert (move.why, move.mm, move.make) == (ClothMove.Why.MEASURED, 200, None)


def test_sewn_again_shows_what_was_learnt_before(owner_client):
    old = f.MakeFactory(
        words="Shirt", state="finished", finished_on=clock.today(), learnt="Collar first"
    )
    page = post(owner_client, "make-again", old.pk, form_key=uuid4()).text
    new = Make.objects.exclude(pk=old.pk).get()
    started = post(owner_client, "make-start", new.pk).text
    for card in (page, started):
        before = card.partition("Sewn before")[2]
        assert f'href="{old.get_absolute_url()}"' in before
        assert "Collar first" in before
    assert "Sewn before" not in owner_client.get(old.get_absolute_url()).text


def test_the_cloth_of_a_whim_is_cut_though_it_is_finished(owner_client):
    post(owner_client, "whim", words="Tote bag")
    make, cloth = Make.objects.get(), f.ClothFactory(name="Sand linen", unit="yd")
    page = owner_client.get(make.get_absolute_url()).text
    assert reverse("make-cut", args=[make.pk]) in page
    assert "Sand linen" in owner_client.get(reverse("make-cut", args=[make.pk])).text
    sent = {"cloth": cloth.pk, "form_key": str(uuid4())}
    assert "There is" in post(owner_client, "make-cut", make.pk, length="90", **sent).text
    assert "Choose a cloth" in post(owner_client, "make-cut", make.pk, length="1").text
    page = post(owner_client, "make-cut", make.pk, length="1", **sent).text
    assert "Cut: 1 yd" in page
    assert (make.cloth_moves.get().mm, make.cloth_moves.get().cloth) == (Decimal("-914.4"), cloth)


def test_patterns_are_chosen_changed_carried_in_and_sewn_again(owner_client, coat):
    shirt = f.PatternFactory(name="Shirt")
    assert "Shirt" in owner_client.get(reverse("make-pattern", args=[coat.pk])).text
    post(owner_client, "make-pattern", coat.pk, pattern=shirt.pk, size="40")
    edit = reverse("make-pattern-edit", args=[coat.pk, shirt.pk])
    assert 'value="40"' in owner_client.get(edit).text
    page = owner_client.post(edit, {"size": "40", "changes": "Cuffs wider"}, follow=True).text
    assert "Cuffs wider" in page
    back = {"back": coat.get_absolute_url()}
    page = post(owner_client, "pattern-carry", shirt.pk, coat.pk, **back).text
    version = shirt.versions.get()
    assert "In the pattern since" in page
    assert "Carry" in post(owner_client, "pattern-take-out", version.pk, **back).text
    page = post(owner_client, "pattern-carry", coat.pattern.pk, coat.pk, **back).text
    assert "Write first what was changed." in page
    post(owner_client, "make-pattern-off", coat.pk, shirt.pk)
    assert coat.further_patterns.count() == 1
    for _ in range(2):
        again = post(
            owner_client, "make-again", coat.pk, form_key="5bd1c8a2-1111-4111-8111-0123456789ab"
        )
    made = Make.objects.exclude(pk=coat.pk).get()
    assert again.redirect_chain[-1][0] == made.get_absolute_url()
    assert (made.pattern, made.size, made.state) == (coat.pattern, "42", MakeState.IDEA)
    post(owner_client, "pattern-again", shirt.pk)
    assert Make.objects.filter(pattern=shirt, words="Shirt").exists()


def test_it_is_put_into_piles_a_season_and_to_rest(owner_client, coat):
    post(owner_client, "make-pile", coat.pk, name="Choir")
    pile = f.PileFactory(name="Long weekend")
    page = post(owner_client, "make-pile", coat.pk, into=pile.pk).text
    assert sorted(row.pile.name for row in coat.pile_places.all()) == ["Choir", "Long weekend"]
    assert re.search(r'name="out_of" value="\d+" aria-pressed="true">Choir', page)
    post(owner_client, "make-pile", coat.pk, out_of=pile.pk)
    assert coat.pile_places.get().pile.name == "Choir"
    keys = re.findall(r'<option value="(\d{4}-\d\d-\d\d)"', page)
    post(owner_client, "make-season", coat.pk, season=keys[1])
    assert str(coat.hopes.get(until=None).begins) == keys[1]
    post(owner_client, "make-season", coat.pk, season="")
    assert not coat.hopes.filter(until=None).exists()
    post(owner_client, "make-move", coat.pk, to="resting")
    coat.refresh_from_db()
    assert coat.state == MakeState.RESTING


@pytest.mark.postgres
@pytest.mark.parametrize("count", [1, 3])
def test_a_card_asks_the_database_as_often_for_any_number(
    owner_client, django_assert_num_queries, coat, count
):
    for number in range(count):
        plan = f.ClothPlanFactory(make=coat)
        f.ClothMoveFactory(cloth=plan.cloth, make=coat, why="cut", mm=Decimal(-500))
        f.FurtherPatternFactory(make=coat)
        f.PatternVersionFactory(pattern=coat.pattern, make=coat)
        f.PilePlaceFactory(make=coat)
        f.TodoFactory(side="mine", make=coat)
        coat.pictures.add(f.PictureFactory())
        day = clock.today() - timedelta(days=number)
        f.MakeFactory(pattern=coat.pattern, state="finished", finished_on=day)
    # Login (2), the studio, the clock of whoever looks; the make with ten lists of its own;
    # its minutes and clock, the hours of its pattern, the shares of its cloth (2), the last entry
    # of its history, what it was sewn again from, its to-do, the piles, what its cloth cost.
    with django_assert_num_queries(24):
        owner_client.get(coat.get_absolute_url())


def test_two_windows_on_one_card_lose_no_word(owner_client, coat):
    """The rule is that of ``tests/test_two_windows.py``."""
    page = owner_client.get(coat.get_absolute_url())
    opened = unescape(re.search(r'name="opened" value="([^"]+)"', page.text)[1])
    base = {"opened": opened, "stopped": "", "note": "", "minutes": "", "paid": ""}
    post(owner_client, "make-say", coat.pk, **base | {"stopped": "Hem"})
    post(owner_client, "make-say", coat.pk, **base | {"note": "Press with a cloth"})
    coat.refresh_from_db()
    assert (coat.stopped, coat.note) == ("Hem", "Press with a cloth")
    asked = post(owner_client, "make-say", coat.pk, **base | {"stopped": "Collar"}).text
    assert "You, in another window, changed this since you opened the page, to: Hem." in asked
    coat.refresh_from_db()
    assert coat.stopped == "Hem"

    edit = reverse("make-pattern-edit", args=[coat.pk, coat.pattern.pk])
    mine, other = Window(owner_client, edit), Window(owner_client, edit)
    other.type(size="44").save()
    mine.type(changes="Sleeves longer").save()
    coat.refresh_from_db()
    assert (coat.size, coat.changes) == ("44", "Sleeves longer")
