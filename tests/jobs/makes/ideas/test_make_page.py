"""A make's own page, how it is finished, and what was made, in rows."""

import re
from datetime import date
from uuid import uuid4

import pytest
from django.urls import reverse

from clients.actions import merge, unmerge
from jobs.counter.privacy.actions import erase
from jobs.makes.models import ClothMove, Make, MakeState
from studio.shop import clock
from studio.shop.models import Entry
from tests import factories as f
from tests.jobs.makes.ideas.test_capture import follow, undo_of
from tests.pages import page_of

MARCH = date(2026, 3, 1)


def finished(**rest) -> Make:
    return f.MakeFactory(**{"state": MakeState.FINISHED, "finished_on": MARCH} | rest)


def keen(page: str) -> list[str]:
    return re.findall(r'name="heat"[^>]+value="" aria-pressed="true">(\d)', page)


def test_a_card_is_written_on_later(owner_client):
    make = f.MakeFactory(words="Coat")
    address = reverse("make-edit", args=[make.pk])
    assert 'value="Coat"' in owner_client.get(address).text
    sent = {"words": "Wool coat", "heat": "5", "minutes": "12", "season": "winter"}
    page = follow(owner_client, owner_client.post(address, sent))
    assert keen(page) == ["5"]
    make.refresh_from_db()
    assert (make.words, make.minutes, make.get_season_display()) == ("Wool coat", 720, "Winter")
    owner_client.post(reverse("own-undo"), undo_of(page))
    make.refresh_from_db()
    assert (make.words, make.heat, make.minutes, make.season) == ("Coat", None, None, "")


def test_the_card_asks_for_cloth_and_pattern_while_it_has_none(owner_client):
    """What the new-idea form asks is asked on *More details* too; what is chosen is the first tile;
    at the end the size is asked where nobody said it."""
    cloth, last = f.ClothFactory(name="Sand linen"), None
    for name in ("Apron", "Blouse", "Wide trousers"):
        last = f.PatternFactory(name=name)
    page = owner_client.get(reverse("idea-new"), {"pattern": last.pk}).text
    assert re.search(r'name="pattern" value="(\d+)"', page).group(1) == str(last.pk)
    make = f.MakeFactory(words="Wide trousers for Marlene")
    address = reverse("make-edit", args=[make.pk])
    assert {"cloth", "pattern"} < set(re.findall(r'name="(\w+)"', owner_client.get(address).text))
    sent = {"words": make.words, "cloth": cloth.pk, "length": "1.5 m", "pattern": last.pk}
    owner_client.post(address, sent)
    make.refresh_from_db()
    assert make.pattern == last
    assert make.cloth_plans.get().mm == 1500
    page = owner_client.get(address).text
    assert 'name="cloth"' not in page
    assert 'name="pattern"' not in page
    page = owner_client.get(reverse("make-pattern-edit", args=[make.pk, last.pk])).text
    assert "Wide trousers for Wide trousers" not in page
    address = reverse("make-finish", args=[make.pk])
    assert "Size sewn of Wide trousers" in owner_client.get(address).text
    owner_client.post(address, {"day": "2026-03-01", "size": "40"})
    make.refresh_from_db()
    assert (make.state, make.size) == (MakeState.FINISHED, "40")


def test_only_a_finished_one_is_asked_what_was_learnt(owner_client):
    for make, asked in ((f.MakeFactory(), False), (finished(), True)):
        page = owner_client.get(reverse("make-edit", args=[make.pk])).text
        assert ('name="learnt"' in page) is asked


def test_finished_on_a_day_with_a_photograph(owner_client, photo):
    """All else waits: what was learnt is written on the card, when it is known."""
    make = f.MakeFactory(words="Coat", state=MakeState.UNDER_WAY, changes="Hem longer")
    address = reverse("make-finish", args=[make.pk])
    assert f'value="{clock.today():%Y-%m-%d}"' in owner_client.get(address).text
    sent = {"day": "2026-03-01", "photo": photo}
    page = follow(owner_client, owner_client.post(address, sent))
    assert "Finished on Sun 1 Mar 2026" in page
    assert "Hem longer" in page
    facts = {"learnt": "Press as you go", "changes": "Hem longer still"}
    page = follow(owner_client, owner_client.post(reverse("make-say", args=[make.pk]), facts))
    make.refresh_from_db()
    assert (make.pictures.get().step, make.learnt) == ("worn", "Press as you go")
    assert make.changes == "Hem longer still"


def test_nothing_is_finished_on_a_day_to_come(owner_client):
    make = f.MakeFactory()
    address = reverse("make-finish", args=[make.pk])
    assert "still to come" in owner_client.post(address, {"day": "2999-01-01"}).text
    make.refresh_from_db()
    assert make.state == "idea"


def test_finished_today_keeps_what_was_written(owner_client):
    make = f.MakeFactory(changes="Hem longer", learnt="Much")
    owner_client.post(reverse("make-made", args=[make.pk]))
    make.refresh_from_db()
    assert (make.state, make.finished_on) == ("finished", clock.today())
    assert (make.changes, make.learnt) == ("Hem longer", "Much")


def test_a_step_that_cannot_be_taken_says_why(owner_client):
    make = finished(words="Coat")
    page = follow(owner_client, owner_client.post(reverse("make-start", args=[make.pk])))
    assert "“Coat” is put away. Take it up again first." in page
    page = follow(
        owner_client, owner_client.post(reverse("make-finish", args=[make.pk]), {"day": MARCH})
    )
    assert 'class="notice' not in page


def test_let_go_with_thanks_and_taken_up_again(owner_client):
    make = f.ClothPlanFactory(make__words="Coat", cloth__name="Boiled wool").make
    page = follow(owner_client, owner_client.post(reverse("make-let-go", args=[make.pk])))
    assert "Let go: Coat. Boiled wool is free for something else." in page
    assert "kept in the journal" in page
    page = follow(owner_client, owner_client.post(reverse("make-take-up", args=[make.pk])))
    assert "Taken up again: Coat" in page
    assert "Start it" in page


def test_pictures_are_added_and_taken_off(owner_client, photo, sketch):
    make = f.MakeFactory()
    address = reverse("make-picture", args=[make.pk])
    sent = {"photo": photo, "sketch": sketch, "form_key": str(uuid4())}
    assert "Picture kept" in follow(owner_client, owner_client.post(address, sent))
    first, second = make.pictures.all()
    assert (first.drawn, second.drawn) == (False, True)
    off = reverse("make-picture-off", args=[make.pk, first.pk])
    page = follow(owner_client, owner_client.post(off))
    assert list(make.pictures.all()) == [second]
    owner_client.post(reverse("own-undo"), undo_of(page))
    assert list(make.pictures.all()) == [first, second]
    page = follow(owner_client, owner_client.post(address, {"form_key": str(uuid4())}))
    assert "Choose a photograph, or draw one." in page


def test_a_picture_of_another_make_is_not_taken_off(owner_client):
    make, picture = f.MakeFactory(), f.PictureFactory()
    off = reverse("make-picture-off", args=[make.pk, picture.pk])
    assert owner_client.post(off).status_code == 404


def test_a_picture_is_shown_to_whoever_is_logged_in(owner_client, client):
    picture = f.PictureFactory()
    response = owner_client.get(picture.get_absolute_url())
    assert (response["Content-Type"], response["Cache-Control"].split(",")[0]) == (
        "image/jpeg", "private",
    )  # fmt: skip
    assert b"".join(response.streaming_content).startswith(b"\xff\xd8")
    assert reverse("login") in client.get(picture.get_absolute_url())["Location"]
    picture.file.storage.delete(str(picture.file))
    assert owner_client.get(picture.get_absolute_url()).status_code == 404


def test_cloth_that_is_meant_for_it_and_cloth_that_was_cut(owner_client):
    make, cloth = f.MakeFactory(), f.ClothFactory(name="Sand linen")
    sent = {"cloth": cloth.pk, "length": "1.6"}
    page = follow(owner_client, owner_client.post(reverse("make-cloth", args=[make.pk]), sent))
    assert "Sand linen</a>" in page
    assert "1.6 m meant for this" in page
    f.ClothMoveFactory(
        cloth=cloth, make=make, why=ClothMove.Why.CUT, mm=-1550, typed="1.55 m", day=MARCH
    )
    page = owner_client.get(make.get_absolute_url()).text
    assert "Cut 1.55 m, Sun 1 Mar 2026" in page
    owner_client.post(reverse("make-cloth-off", args=[make.pk, cloth.pk]))
    assert not make.cloth_plans.exists()


def test_a_length_that_is_none_is_refused(owner_client):
    make, cloth = f.MakeFactory(), f.ClothFactory()
    sent = {"cloth": cloth.pk, "length": "a bit"}
    page = owner_client.post(reverse("make-cloth", args=[make.pk]), sent).text
    assert "Write a length such as" in page
    assert not make.cloth_plans.exists()


def test_a_fate_is_one_press_in_its_row(owner_client):
    make = finished()
    address = reverse("make-fate", args=[make.pk])
    row = owner_client.post(address, {"fate": "often"}, headers={"HX-Request": "true"}).text
    assert row.startswith("<form")
    assert re.search(r'value="" aria-pressed="true">Worn often', row)
    make.refresh_from_db()
    assert make.fate == "often"
    owner_client.post(address, {"fate": ""}, headers={"HX-Request": "true"})
    make.refresh_from_db()
    assert make.fate == ""


@pytest.mark.postgres
def test_a_fate_goes_back_to_its_row_without_scripts(owner_client):
    make = finished(words="Tote bag")
    back = f"{reverse('makes')}?q=bag#make-{make.pk}"
    response = owner_client.post(
        reverse("make-fate", args=[make.pk]), {"fate": "rarely", "back": back}
    )
    assert response["Location"] == back
    assert "Worn rarely: Tote bag" in follow(owner_client, response)


@pytest.mark.parametrize("sent", [{"fate": "burnt"}, {"heat": "6"}, {"heat": "hot"}])
def test_a_fate_or_heat_that_is_none_is_refused(owner_client, sent):
    make = finished(heat=2)
    name = "make-heat" if "heat" in sent else "make-fate"
    page = follow(owner_client, owner_client.post(reverse(name, args=[make.pk]), sent))
    assert "Select a valid choice." in page
    make.refresh_from_db()
    assert (make.fate, make.heat) == ("", 2)


def test_heat_is_said_and_taken_back(owner_client):
    make = f.MakeFactory()
    address = reverse("make-heat", args=[make.pk])
    page = follow(owner_client, owner_client.post(address, {"heat": "3"}))
    assert keen(page) == ["3"]
    page = follow(owner_client, owner_client.post(address, {"heat": ""}))
    assert keen(page) == []


def test_it_is_for_somebody_of_the_book(owner_client, owner, studio):
    """Found as at the counter; merged, undone and erased with the client, named nowhere else."""
    mary, twin = f.ClientFactory(name="Mary Larkin"), f.ClientFactory(name="Máire")
    make = f.MakeFactory(words="Linen top", whom="Mary L.")
    address = reverse("make-whom", args=[make.pk])

    (choice,) = page_of(owner_client, f"{address}?q=maire").all("button[name=client]")
    owner_client.post(address, {"client": choice["value"]})
    make = Make.objects.get(pk=make.pk)
    assert (make.client, make.whom) == (twin, "")
    assert "for Máire" in owner_client.get(make.get_absolute_url()).text
    assert "Linen top" in owner_client.get(reverse("own"), {"q": "maire"}).text

    merge(keep=mary, other=twin, by=owner, facts={"name": mary.name})
    assert Make.objects.get(pk=make.pk).for_whom == "Mary Larkin"
    unmerge(entry=mary.last_merge, by=owner)
    assert Make.objects.get(pk=make.pk).client == twin

    erase(client=twin, studio=studio, by=owner)
    make = Make.objects.get(pk=make.pk)
    assert make.for_whom == ""
    assert not Entry.objects.filter(parameters__icontains="ire").exists()
