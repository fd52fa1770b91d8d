"""The page of the wall: what lies where, chips, finding, tidying, and what it weighs."""

import gzip
import re

import pytest
from django.urls import reverse

from jobs.makes.models import Make, MakeState, Pile
from studio.shop import clock
from tests import factories as f
from tests.jobs.makes.ideas.test_capture import follow, hung, undo_of


@pytest.mark.postgres
@pytest.mark.parametrize("count", [1, 3])
def test_the_wall_asks_the_database_as_often_for_any_number(
    owner_client, django_assert_num_queries, count
):
    for _ in range(count):
        pile = f.PileFactory()
        for state in (MakeState.IDEA, MakeState.LINED_UP, MakeState.UNDER_WAY, MakeState.RESTING):
            make = f.MakeFactory(state=state, pattern=f.PatternFactory(), heat=3)
            make.pictures.add(f.PictureFactory(), f.PictureFactory())
            f.ClothPlanFactory(make=make, cloth__swatch=f.PictureFactory())
            f.PilePlaceFactory(make=make, pile=pile)
            make.looks.create(answer="unsure", was="idea", at=clock.now())
    # Login (2), the studio; makes, their pictures, places with piles, plans with cloth, looks, and
    # the piles; of the tray cloth, what was cut of it, what it is meant for, and patterns.
    with django_assert_num_queries(13):
        owner_client.get(reverse("own"))
    # Login (2), the studio; makes with all of that but the piles, what was cut, what else they are
    # sewn from, cloth with what was cut of it and what it is meant for, patterns.
    with django_assert_num_queries(14):
        owner_client.get(reverse("own"), {"q": "linen"})


def test_areas_marks_and_chips(owner_client):
    choir = f.PileFactory(name="Choir")
    coat = f.MakeFactory(words="Coat", heat=5, kind="Coat", season="winter")
    f.ClothPlanFactory(make=coat, cloth__name="Boiled wool")
    bag = f.MakeFactory(words="Bag", state=MakeState.LINED_UP, whom="Órla")
    for make in (coat, bag):
        f.PilePlaceFactory(pile=choir, make=make)
    doubt = f.MakeFactory(words="Quilt")
    doubt.looks.create(answer="unsure", was="idea", at=clock.now())
    f.MakeFactory(words="Jersey", state=MakeState.UNDER_WAY)
    f.MakeFactory(words="Asleep", state=MakeState.RESTING)
    f.MakeFactory(words="Gone", state=MakeState.LET_GO)
    page = owner_client.get(reverse("own")).text
    key = f"pile-{choir.pk}"
    lying = {"lined_up": ["Bag"], key: ["Bag", "Coat"], "idea": ["Quilt"], "resting": []}
    assert hung(page) == lying
    for words in ("wanted most", "Boiled wool is meant for it", "not sure", "Under way"):
        assert words in page
    shown = {
        "wanted": ["Coat"], "cloth": ["Coat"], "no-cloth": ["Bag", "Quilt"], "kind-coat": ["Coat"],
        "in-winter": ["Coat"], "others": ["Bag"], "unsure": ["Quilt"],
    }  # fmt: skip
    for chip, names in shown.items():
        rows = hung(owner_client.get(reverse("own"), {"show": chip}).text).values()
        assert sorted({name for row in rows for name in row}) == sorted(names), chip
    rested = hung(owner_client.get(reverse("own"), {"open": "resting"}).text)
    assert rested["resting"] == ["Asleep"]


def two_hundred() -> None:
    """Half of them in eight piles, each with a picture and cloth."""
    cloths = f.ClothFactory.create_batch(5, swatch=f.PictureFactory())
    piles = f.PileFactory.create_batch(8)
    for number in range(200):
        make = f.MakeFactory(words=f"A dress of long linen, number {number}", place=number)
        make.pictures.add(f.PictureFactory(width=1200, height=1600))
        f.ClothPlanFactory(make=make, cloth=cloths[number % 5])
        if number % 2:
            f.PilePlaceFactory(pile=piles[number % 8], make=make)


def test_two_hundred_ideas_weigh_little_and_close_their_piles(owner_client, record_property):
    two_hundred()
    response = owner_client.get(reverse("own"))
    weight = len(gzip.compress(response.content, 6))
    record_property("figure", f"The wall of 200 ideas: {weight / 1024:.1f} KB compressed")
    assert weight <= 60 * 1024
    lying = hung(response.text)
    assert len(lying["idea"]) == 56
    assert all(not row for key, row in lying.items() if key != "idea")
    # At most 30 KB a picture of 300 by 400: three screens of a phone have 30 of them.
    assert response.text.count("<img") <= 56 * 2 + 9 * 3 + 10
    assert all(
        'loading="lazy"' in img and "width=" in img
        for img in re.findall("<img[^>]*>", response.text)
    )
    assert 'data-next="' in response.text
    more = hung(owner_client.get(reverse("own"), {"loose": "112"}).text)
    assert len(more["idea"]) == 100
    last = Make.objects.filter(piles=None).last()
    first = Make.objects.filter(piles=None).first()
    sent = {"make": last.pk, "to": "idea", "source": "idea", "before": first.pk}
    assert owner_client.post(reverse("own-arrange"), sent).json()["said"] == ""
    assert hung(owner_client.get(reverse("own")).text)["idea"][0] == last.words


def test_an_empty_wall_offers_the_ways(owner_client):
    page = owner_client.get(reverse("own")).text
    assert "Hang up the first idea" in page
    assert 'name="photos"' in page


def test_any_word_of_any_card_is_found(owner_client):
    cloth = f.ClothFactory(name="Needlecord", colour="bottle green", fibre="cotton")
    pattern = f.PatternFactory(name="Shell top", number="N-17", changes="Shoulders forward")
    make = f.MakeFactory(
        words="Élan coat", kind="coat", whom="Órla", occasion="picnic", note="Like a lighthouse",
        changes="Hem longer", learnt="Press seams", pattern=pattern, season="winter",
    )  # fmt: skip
    f.ClothPlanFactory(make=make, cloth=cloth)
    f.PilePlaceFactory(make=make, pile__name="Choir")
    f.MakeFactory(words="Made long ago", state=MakeState.FINISHED, finished_on=clock.today())
    words = (
        "elan", "ORLA", "picnic", "lighthouse", "hem longer", "press", "needlecord", "green coat",
        "cotton", "shell", "n-17", "forward", "choir", "winter",
    )  # fmt: skip
    for word in words:
        page = owner_client.get(reverse("own"), {"q": word}).text
        assert f'data-make="{make.pk}"' in page, word
    assert cloth.get_absolute_url() in owner_client.get(reverse("own"), {"q": "green"}).text
    found = owner_client.get(reverse("own"), {"q": "long ago"}).text
    assert ">made</span>" in found
    assert "Nothing in own sewing" in owner_client.get(reverse("own"), {"q": "zebra"}).text


def test_several_are_tidied_in_one_go_and_undone_in_one(owner_client):
    first, second, third = (f.MakeFactory(words=w, place=n) for n, w in enumerate("abc"))
    pile, cloth = f.PileFactory(name="Choir"), f.ClothFactory()
    page = owner_client.get(reverse("own"), {"tidy": "1"}).text
    assert f'value="{first.pk}@idea"' in page
    season = re.findall(r'name="season" value="(\d{4}-\d\d-\d\d)"', page)[0]
    sent = {
        "pick": [f"{first.pk}@idea", f"{third.pk}@idea"], "to": f"pile-{pile.pk}",
        "cloth": cloth.pk, "season": season, "do": "move",
    }  # fmt: skip
    page = follow(owner_client, owner_client.post(reverse("own-tidy"), sent))
    assert "2 pictures now in Choir." in page
    assert hung(page) == {f"pile-{pile.pk}": ["a", "c"], "idea": ["b"]}
    assert first.cloth_plans.get().cloth == cloth
    assert third.hopes.get().begins.isoformat() == season
    keys = re.findall(r'name="entry" value="(\d+)"', page)
    owner_client.post(reverse("own-undo"), {"entry": keys})
    assert hung(owner_client.get(reverse("own")).text)["idea"] == ["a", "b", "c"]
    assert not first.cloth_plans.exists()

    def tidied(do: str, *picks: Make) -> dict[str, list[str]]:
        ticks = {"pick": [f"{make.pk}@idea" for make in picks], "do": do}
        return hung(follow(owner_client, owner_client.post(reverse("own-tidy"), ticks)))

    assert tidied("top", second, third)["idea"] == ["b", "c", "a"]
    assert tidied("rest", second) == {f"pile-{pile.pk}": [], "idea": ["c", "a"], "resting": []}
    assert tidied("let_go", third)["idea"] == ["a"]
    new = {"pick": [f"{first.pk}@idea"], "new_pile": "Party", "do": "move"}
    page = follow(owner_client, owner_client.post(reverse("own-tidy"), new))
    assert "Party" in page
    assert hung(page)["idea"] == []
    assert "Tick a picture first." in follow(owner_client, owner_client.post(reverse("own-tidy")))


def test_what_cannot_be_arranged_or_given_is_refused_with_a_reason(owner_client):
    gone = f.MakeFactory(words="Coat", state=MakeState.LET_GO)
    refused = owner_client.post(reverse("own-arrange"), {"make": gone.pk, "to": "idea"})
    assert (refused.status_code, "put away" in refused.json()["said"]) == (409, True)
    for sent in ({"make": gone.pk, "to": "pile-9"}, {"make": "x", "to": "idea"}, {}):
        assert owner_client.post(reverse("own-arrange"), sent).status_code == 409
    assert owner_client.post(reverse("own-give"), {}).status_code == 409


def test_cloth_and_patterns_are_given(owner_client):
    make, cloth, pattern = f.MakeFactory(words="Coat"), f.ClothFactory(), f.PatternFactory()
    sent = {"make": make.pk, "cloth": cloth.pk}
    answer = owner_client.post(reverse("own-give"), sent).json()
    assert answer["said"] == f"{cloth} is meant for Coat"
    assert "already" in owner_client.post(reverse("own-give"), sent).json()["said"]
    owner_client.post(reverse("own-give"), {"make": make.pk, "pattern": pattern.pk})
    make.refresh_from_db()
    assert (make.pattern, make.cloth_plans.get().cloth) == (pattern, cloth)


def test_piles_are_named_and_removed_on_the_wall(owner_client):
    page = follow(owner_client, owner_client.post(reverse("pile-new"), {"name": "Choir"}))
    assert "New pile: Choir" in page
    page = follow(owner_client, owner_client.post(reverse("pile-new"), {"name": "choir"}))
    assert "Choir is there already." in page
    pile = Pile.objects.get()
    owner_client.post(reverse("pile", args=[pile.pk]), {"name": "Concert"})
    other = f.PileFactory(name="Party")
    owner_client.post(reverse("pile", args=[other.pk]), {"first": "1"})
    f.MakeFactory()
    page = owner_client.get(reverse("own")).text
    assert page.index(">Party<") < page.index(">Concert<")
    page = follow(owner_client, owner_client.post(reverse("pile", args=[pile.pk]), {"remove": "1"}))
    assert ">Concert<" not in page
    owner_client.post(reverse("own-undo"), undo_of(page))
    assert ">Concert<" in owner_client.get(reverse("own")).text
