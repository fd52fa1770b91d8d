"""The wall of ideas: a new card in one line, and cards that move by plain buttons."""

import re
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.makes.models import Make, MakeState, Picture
from studio.shop import clock, history
from tests import factories as f
from tests.jobs.makes.ideas.conftest import file_of

pytestmark = pytest.mark.postgres


def hung(page: str) -> list[str]:
    """The cards as they hang, with the headings over them."""
    headings = re.findall(r"<h([23])[^>]*>(?:<a[^>]*>)?([^<]+)", page)
    return [words.upper() if level == "2" else words for level, words in headings]


def follow(client, response) -> str:
    return client.get(response["Location"]).text


def undo_of(page: str) -> dict[str, str]:
    """What the undo button of a page sends."""
    form = page[page.index(f'action="{reverse("own-undo")}"') :].split("</form>", maxsplit=1)[0]
    return dict(re.findall(r'name="(entry|back)" value="([^"]*)"', form))


def test_cards_hang_by_what_is_at_hand(owner_client):
    f.MakeFactory(words="Coat")
    f.MakeFactory(words="Skirt", state=MakeState.LINED_UP)
    f.MakeFactory(words="Top", state=MakeState.UNDER_WAY)
    f.MakeFactory(words="Gone", state=MakeState.LET_GO)
    f.MakeFactory(words="Worn", state=MakeState.FINISHED, finished_on=clock.today())
    page = owner_client.get(reverse("own")).text
    assert hung(page) == ["UNDER WAY", "Top", "PLANNED NEXT", "Skirt", "IDEAS", "Coat"]


@pytest.mark.parametrize("count", [1, 3])
def test_the_wall_asks_the_database_as_often_for_any_number(
    owner_client, django_assert_num_queries, count
):
    for _ in range(count):
        for state in (MakeState.IDEA, MakeState.LINED_UP, MakeState.UNDER_WAY):
            make = f.MakeFactory(state=state, pattern=f.PatternFactory(), heat=3)
            make.pictures.add(f.PictureFactory(), f.PictureFactory())
            f.ClothPlanFactory(make=make, cloth__swatch=f.PictureFactory())
    # Login (2), the studio, then makes with patterns, pictures, and plans with cloth and swatch.
    with django_assert_num_queries(6):
        owner_client.get(reverse("own"))


def test_one_line_is_an_idea(owner_client):
    sent = {"words": " Linen top ", "form_key": str(uuid4())}
    for _ in range(2):
        response = owner_client.post(reverse("idea-new"), sent)
        assert response["Location"] == reverse("own")
    assert Make.objects.get().words == "Linen top"
    page = follow(owner_client, response)
    assert "Kept: Linen top" in page
    assert page.count(">Kept: Linen top<") == 1


def test_a_card_changed_on_a_page_that_was_sent_is_asked_about(owner_client, photo):
    sent = {"words": "Linen top", "heat": "4", "form_key": str(uuid4())}
    owner_client.post(reverse("idea-new"), sent)
    changed = sent | {"words": "Linen shirt", "kind": "shirt"}
    page = owner_client.post(reverse("idea-new"), changed | {"photo": photo}).text
    assert "This form was already saved as" in page
    label = Make._meta.get_field("kind").verbose_name.capitalize()
    assert f"is not saved: A new idea, in a few words; {label}; Pictures." in page
    assert 'value="Linen shirt"' in page
    (held,) = re.findall(r'name="held" value="(\d+)"', page)
    make = Make.objects.get()
    assert (make.words, make.pictures.count()) == ("Linen top", 0)

    owner_client.post(reverse("idea-new"), changed | {"held": held, "intent": "change"})
    make = Make.objects.get()
    assert (make.words, make.kind, make.heat) == ("Linen shirt", "shirt", 4)
    assert [str(picture.pk) for picture in make.pictures.all()] == [held]

    page = owner_client.post(reverse("whim"), sent | {"words": "Cape"}).text
    assert "Linen shirt</a>" in page
    assert "A new idea, in a few words; Made already." in page
    owner_client.post(reverse("idea-new"), sent | {"words": "Cape", "intent": "another"})
    assert sorted(Make.objects.values_list("words", flat=True)) == ["Cape", "Linen shirt"]


def test_an_idea_with_photograph_and_sketch(owner_client, photo, sketch):
    sent = {"words": "Linen top", "photo": photo, "sketch": sketch, "form_key": str(uuid4())}
    owner_client.post(reverse("idea-new"), sent)
    pictures = Make.objects.get().pictures.all()
    assert [(picture.drawn, picture.width) for picture in pictures] == [(False, 60), (True, 60)]
    page = owner_client.get(reverse("own")).text
    assert pictures[1].get_absolute_url() in page


def test_everything_else_may_be_said_too(owner_client):
    cloth, pattern = f.ClothFactory(), f.PatternFactory()
    sent = {
        "words": "Linen top", "heat": "4", "kind": "top", "whom": "me", "season": "summer",
        "occasion": "picnic", "pattern": pattern.pk, "changes": "Hem longer", "minutes": "4:30",
        "wear_by": "2026-06-06", "planned": "on", "cloth": cloth.pk, "length": "1,6 m",
        "form_key": str(uuid4()),
    }  # fmt: skip
    owner_client.post(reverse("idea-new"), sent)
    make = Make.objects.get()
    assert (make.heat, make.minutes, make.pattern, make.planned) == (4, 270, pattern, True)
    assert [plan.typed for plan in make.cloth_plans.all()] == ["1,6 m"]
    page = owner_client.get(make.get_absolute_url()).text
    for shown in ("picnic", "4 h 30", "Sat 6 Jun 2026, planned like a promise", "1,6 m"):
        assert shown in page


def test_a_wrong_field_loses_no_picture(owner_client, photo, sketch):
    sent = {"words": "Linen top", "planned": "on", "form_key": str(uuid4())}
    page = owner_client.post(reverse("idea-new"), sent | {"photo": photo, "sketch": sketch}).text
    assert "Name the day, so that it can be planned like a promise." in page
    held = re.findall(r'name="held" value="(\d+)"', page)
    assert len(held) == 2
    owner_client.post(reverse("idea-new"), sent | {"held": held, "wear_by": "2026-06-06"})
    assert [str(picture.pk) for picture in Make.objects.get().pictures.all()] == held


@pytest.mark.parametrize("name", ["idea-new", "whim"])
@pytest.mark.parametrize("words", ["", "   ", "x" * 121])
def test_words_are_all_it_needs_and_those_it_needs(owner_client, name, words):
    page = owner_client.post(reverse(name), {"words": words}).text
    assert 'aria-invalid="true"' in page
    assert not Make.objects.exists()


HOSTILE = {
    "no picture": b"just words",
    "markup": b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
    "cut off": file_of("PNG", "a.png").read()[:40],
    "begins like one": b"\x89PNG\r\n\x1a\n" + b"\0" * 100,
    "another kind": file_of("JPEG", "a.jpg").read(),
    "too large": file_of("PNG", "a.png").read() + b"\0" * (2 * 1024 * 1024),
    "empty": b"",
}


@pytest.mark.parametrize("data", HOSTILE.values(), ids=HOSTILE)
def test_a_drawing_that_is_none_is_refused_with_a_reason(owner_client, data):
    upload = SimpleUploadedFile("sketch.png", data, "image/png")
    page = owner_client.post(reverse("idea-new"), {"words": "Top", "sketch": upload}).text
    assert re.search("Draw it again|no picture that can be read|empty", page)
    assert not Make.objects.exists()
    assert not Picture.objects.exists()


def test_a_drawing_of_too_many_pixels_is_refused_unread(owner_client):
    # Eight thousand by seven thousand white points are 56 million, and a small file.
    upload = file_of("PNG", "sketch.png", (8000, 7000))
    assert upload.size < 2 * 1024 * 1024
    page = owner_client.post(reverse("idea-new"), {"words": "Top", "sketch": upload}).text
    assert "over 50 million pixels" in page
    assert not Picture.objects.exists()


def test_made_on_a_whim_goes_to_its_page_where_the_photograph_is_added(owner_client):
    response = owner_client.post(reverse("whim"), {"words": "Tote bag", "form_key": str(uuid4())})
    make = Make.objects.get()
    assert response["Location"] == make.get_absolute_url()
    page = follow(owner_client, response)
    assert "without having been planned" in page
    response = owner_client.post(reverse("own-undo"), undo_of(page))
    assert response["Location"] == reverse("own")
    assert not Make.objects.exists()


def test_start_it_is_one_press_and_one_press_undoes_it(owner_client):
    make = f.MakeFactory(words="Coat")
    back = f"{reverse('own')}?at={make.pk}"
    response = owner_client.post(reverse("make-start", args=[make.pk]), {"back": back})
    assert response["Location"] == back
    page = follow(owner_client, response)
    assert hung(page)[:2] == ["UNDER WAY", "Coat"]
    response = owner_client.post(reverse("own-undo"), undo_of(page))
    page = follow(owner_client, response)
    assert hung(page)[-2:] == ["IDEAS", "Coat"]
    assert "Undone: Under way: Coat" in page


@pytest.mark.parametrize("made_up", ["", "x", "0", "9" * 40])
def test_a_step_that_was_never_taken_is_not_undone(owner_client, made_up):
    page = follow(owner_client, owner_client.post(reverse("own-undo"), {"entry": made_up}))
    assert "This can be undone no more." in page


def test_what_other_rooms_did_is_not_undone_here(owner_client, owner):
    """The pages of own sewing take back own sewing only."""
    entry = history.note(history.OLDER, about=owner, by=owner, words="A fitting booked.")
    page = follow(owner_client, owner_client.post(reverse("own-undo"), {"entry": entry.pk}))
    assert "This can be undone no more." in page


def pressed(page: str) -> str:
    """The button that has the focus when the page opens."""
    return re.search(r"<(?:button|summary)[^>]* autofocus>([^<]+)", page)[1]


def test_a_card_is_moved_again_and_again_by_the_same_button(owner_client):
    third, _, _ = (f.MakeFactory(words=words) for words in ("third", "second", "first"))
    address = reverse("make-move", args=[third.pk])
    page = follow(owner_client, owner_client.post(address, {"way": "-1", "place": "2"}))
    assert (hung(page)[-3:], pressed(page)) == (["first", "third", "second"], "Up")
    page = follow(owner_client, owner_client.post(address, {"way": "-1", "place": "1"}))
    assert (hung(page)[-3:], pressed(page)) == (["third", "first", "second"], "Down")


def test_a_card_is_moved_to_another_part(owner_client):
    make = f.MakeFactory(words="Coat")
    sent = {"to": "lined_up", "back": f"{reverse('own')}?at={make.pk}"}
    page = follow(owner_client, owner_client.post(reverse("make-move", args=[make.pk]), sent))
    assert (hung(page)[1:3], pressed(page)) == (["PLANNED NEXT", "Coat"], "Move it")


@pytest.mark.parametrize(
    "sent", [{"to": "finished"}, {"to": "sold"}, {"way": "2"}, {"way": "1", "place": "-1"}, {}]
)
def test_a_move_that_is_none_moves_nothing(owner_client, sent):
    make = f.MakeFactory(words="Coat")
    response = owner_client.post(reverse("make-move", args=[make.pk]), sent)
    assert response["Location"] == make.get_absolute_url()
    assert (Make.objects.get().state, Make.objects.get().place) == ("idea", 0)


def test_nothing_on_the_wall_is_ever_late(owner_client):
    """A day long gone looks as a day to come does, and none is coloured."""
    f.MakeFactory(words="Coat", wear_by="2001-01-01", planned=True, added_at="2001-01-01T12:00Z")
    page = owner_client.get(reverse("own")).text
    Make.objects.update(wear_by="2099-01-01", added_at=clock.now())

    def plain(page: str) -> str:
        return re.sub(r'value="[\w-]{36,}"|csrf\w+|content=.{0,200}|X-CSRFToken.*', "", page)

    assert plain(owner_client.get(reverse("own")).text) == plain(page)
    assert not re.search(r"\b(late|overdue|still|yet to)\b", page)
