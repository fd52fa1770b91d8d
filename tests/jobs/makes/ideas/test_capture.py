"""How an idea comes in, and the first steps from its page; ``hung`` reads the wall."""

import re
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.makes.models import Make, Picture
from studio.shop import clock, history
from tests import factories as f
from tests.jobs.makes.ideas.conftest import file_of


def hung(page: str) -> dict[str, list[str]]:
    """What lies in which area, in order; a closed pile shows nothing."""
    lists = re.findall(r'<ul class="tiles" data-area="([^"]+)"[^>]*>(.*?)</ul>', page, re.DOTALL)
    cards = {key: re.findall(r'data-make="(\d+)"', tiles) for key, tiles in lists}
    return {key: [Make.objects.get(pk=pk).words for pk in row] for key, row in cards.items()}


def follow(client, response) -> str:
    return client.get(response["Location"]).text


def undo_of(page: str) -> dict[str, str]:
    """What the undo button of a page sends."""
    form = page[page.index(f'action="{reverse("own-undo")}"') :].split("</form>", maxsplit=1)[0]
    return dict(re.findall(r'name="(entry|back)" value="([^"]*)"', form))


def test_one_line_is_an_idea(owner_client):
    sent = {"words": " Linen top ", "form_key": str(uuid4())}
    for _ in range(2):
        response = owner_client.post(reverse("idea-new"), sent)
        assert response["Location"] == f"{reverse('own')}?kept={Make.objects.get().pk}"
    assert Make.objects.get().words == "Linen top"
    assert "Kept in Loose" in follow(owner_client, response)


@pytest.mark.postgres
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
    assert pictures[1].small_address in page
    assert [picture.step for picture in pictures] == ["idea", "sketch"]


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
    for shown in ("picnic", "4 h 30", "Sat 6 Jun, planned like a promise", "1,6 m"):
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
def test_without_a_picture_words_are_needed(owner_client, name, words):
    page = owner_client.post(reverse(name), {"words": words}).text
    assert 'aria-invalid="true"' in page
    assert not Make.objects.exists()


HOSTILE = {
    "no picture": b"just words",
    "markup": b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
    "cut off": file_of("PNG", "a.png").read()[:40],
    "begins like one": b"\x89PNG\r\n\x1a\n" + b"\0" * 100,
    "another kind": file_of("JPEG", "a.jpg").read(),
    "too large": file_of("PNG", "a.png").read() + b"\0" * (8 * 1024 * 1024),
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
    assert upload.size < 8 * 1024 * 1024
    page = owner_client.post(reverse("idea-new"), {"words": "Top", "sketch": upload}).text
    assert "over 50 million pixels" in page
    assert not Picture.objects.exists()


def test_made_on_a_whim_goes_to_its_page_where_the_photograph_is_added(owner_client):
    response = owner_client.post(reverse("whim"), {"words": "Tote bag", "form_key": str(uuid4())})
    make = Make.objects.get()
    assert response["Location"] == make.get_absolute_url()
    page = follow(owner_client, response)
    assert "made already" in page
    response = owner_client.post(reverse("own-undo"), undo_of(page))
    assert response["Location"] == reverse("own")
    assert not Make.objects.exists()


def test_start_it_is_one_press_and_one_press_undoes_it(owner_client):
    make = f.MakeFactory(words="Coat")
    back = f"{reverse('own')}?at={make.pk}"
    response = owner_client.post(reverse("make-start", args=[make.pk]), {"back": back})
    assert response["Location"] == back
    page = follow(owner_client, response)
    assert re.search(r'id="under-way".*?<b>Coat</b>.*?</section>', page, re.DOTALL)
    response = owner_client.post(reverse("own-undo"), undo_of(page))
    page = follow(owner_client, response)
    assert hung(page) == {"idea": ["Coat"]}
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


def test_a_card_is_moved_to_another_part(owner_client):
    make = f.MakeFactory(words="Coat")
    sent = {"to": "lined_up", "back": reverse("own")}
    page = follow(owner_client, owner_client.post(reverse("make-move", args=[make.pk]), sent))
    assert hung(page) == {"lined_up": ["Coat"], "idea": []}


@pytest.mark.parametrize("sent", [{"to": "finished"}, {"to": "sold"}, {}])
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


def test_pictures_are_kept_at_once_without_a_word_and_may_be_an_idea_each(owner_client):
    """Five formats, as phones and programs write them."""
    kinds = ("JPEG", "PNG", "WEBP", "HEIF", "AVIF")
    files = [file_of(kind, f"a.{kind.lower()}") for kind in kinds]
    response = owner_client.post(reverse("idea-new"), {"photos": files, "form_key": str(uuid4())})
    make = Make.objects.get()
    assert (make.words, str(make), make.pictures.count()) == ("", "Untitled", 5)
    page = follow(owner_client, response)
    assert "One idea each" in page
    assert "Untitled, " in page
    kept = reverse("idea-kept", args=[make.pk])
    page = follow(owner_client, owner_client.post(kept, {"part": "1"}))
    assert [make.pictures.count() for make in Make.objects.all()] == [1] * 5
    owner_client.post(reverse("own-undo"), undo_of(page))
    assert Make.objects.get().pictures.count() == 5


def test_what_is_said_right_after_it_was_kept(owner_client):
    make = f.MakeFactory(words="")
    pile, cloth = f.PileFactory(name="Choir"), f.ClothFactory()
    sent = {"words": "Velvet bag", "to": f"pile-{pile.pk}", "cloth": cloth.pk}
    page = follow(owner_client, owner_client.post(reverse("idea-kept", args=[make.pk]), sent))
    assert hung(page)[f"pile-{pile.pk}"] == ["Velvet bag"]
    assert make.cloth_plans.get().cloth == cloth


def test_undo_right_after_it_was_kept_takes_it_all_back(owner_client, photo):
    response = owner_client.post(reverse("idea-new"), {"photos": [photo]})
    kept = reverse("idea-kept", args=[Make.objects.get().pk])
    assert 'name="undo"' in follow(owner_client, response)
    owner_client.post(kept, {"undo": "1"})
    assert not Make.objects.exists()
    assert not Picture.objects.exists()


def test_more_details_keep_what_was_typed_photographed_and_drawn(owner_client, photo, sketch):
    """On the earlier page the way to more details threw all of it away."""
    sent = {"words": "Linen top", "photos": [photo], "sketch": sketch, "more": "1"}
    response = owner_client.post(reverse("idea-new"), sent)
    make = Make.objects.get()
    assert response["Location"] == reverse("make-edit", args=[make.pk])
    assert (make.words, make.pictures.count()) == ("Linen top", 2)
    assert 'value="Linen top"' in follow(owner_client, response)


def test_a_note_with_a_link_is_kept_and_leads_there(owner_client):
    make = f.MakeFactory(words="Coat")
    sent = {"words": "Coat", "note": "Like https://example.org/coat but longer"}
    owner_client.post(reverse("make-edit", args=[make.pk]), sent)
    page = owner_client.get(make.get_absolute_url()).text
    assert re.search(r'<a href="https://example\.org/coat" rel="[^"]*nofollow', page)
    assert "but longer" in page


def test_what_a_phone_shares_is_held_until_the_owner_keeps_it(owner_client, photo):
    sent = {"title": "A coat", "text": "Collar!", "url": "https://example.org/c", "photos": [photo]}
    response = owner_client.post(reverse("idea-share"), sent, headers={"Sec-Fetch-Site": "none"})
    assert not Make.objects.exists()
    page = follow(owner_client, response)
    (held,) = re.findall(r'name="held" value="(\d+)"', page)
    assert 'value="A coat"' in page
    assert "https://example.org/c" in page
    owner_client.post(reverse("idea-new"), {"words": "A coat", "note": "Collar!", "held": held})
    make = Make.objects.get()
    assert (make.note, make.pictures.get().pk) == ("Collar!", int(held))
    assert 'name="held"' not in owner_client.get(reverse("idea-new")).text


def test_another_site_or_nobody_may_share(owner_client, client, photo):
    away = owner_client.post(
        reverse("idea-share"), {"photos": [photo]}, headers={"Sec-Fetch-Site": "cross-site"}
    )
    assert away.status_code == 403
    assert reverse("login") in client.post(reverse("idea-share"), {"title": "x"})["Location"]
    assert not Picture.objects.exists()


def test_the_manifest_names_the_share_target(client, studio):
    facts = client.get(reverse("manifest")).json()
    target = facts["share_target"]
    assert (target["action"], target["method"]) == (reverse("idea-share"), "POST")
    assert target["enctype"] == "multipart/form-data"  # W3C Web Share Target, for files
    assert studio.name not in str(facts)


def test_a_sketch_is_gone_on_with_and_a_photograph_gets_one(owner_client, photo, sketch):
    sent = {"words": "Top", "photo": photo, "sketch": sketch, "form_key": str(uuid4())}
    owner_client.post(reverse("idea-new"), sent)
    make = Make.objects.get()
    first, drawn = make.pictures.all()
    for picture in (drawn, first):
        address = reverse("make-draw", args=[make.pk, picture.pk])
        assert picture.get_absolute_url() in owner_client.get(address).text
        more = {"sketch": file_of("PNG", "more.png", (90, 40)), "form_key": str(uuid4())}
        owner_client.post(address, more)
        # A second press sends the same again: it is hung once and nothing is missing.
        more["sketch"].seek(0)
        assert owner_client.post(address, more).status_code == 302
        more["sketch"].seek(0)
    pictures = make.pictures.all()
    assert [(row.drawn, row.width) for row in pictures] == [(False, 60), (True, 90), (True, 90)]
    assert Picture.objects.filter(pk=drawn.pk).exists()
