"""Ideas looked through anew, and two to choose between, as a browser gets them."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.makes.lookback import actions
from jobs.makes.models import Look, Make, Pair
from jobs.makes.year.actions import sit_down
from studio.shop import clock
from tests import factories as f
from tests.jobs.planning.pages import words


def hidden(page: str, name: str) -> str:
    return re.search(rf'name="{name}" value="([^"]*)"', page)[1]


@pytest.fixture
def card(owner_client):
    make = f.MakeFactory(words="Velvet cape")
    f.ClothPlanFactory(make=make, cloth__name="Green velvet")
    f.MakeFactory(words="Tote bag", added_at=clock.now() + timedelta(seconds=1))
    return make


def test_the_ideas_are_looked_through_anew_at_any_time(owner_client, owner, card, watch):
    """The addresses of before lead there; each idea is asked about again, in a round of its own."""
    year = clock.today().year
    actions.answer(make=card, answer="keep", since=sit_down(year=year).begun_at, by=owner)
    watch.shift(60)
    for address in (reverse("look-back"), reverse("look-answer", args=[card.pk])):
        assert owner_client.get(address).url.startswith(
            reverse("sitting-act", args=[year, "ideas"])
        )
    page = owner_client.get(reverse("look-back"), follow=True)
    assert (page.context["place"], page.context["many"]) == (1, 2)
    assert page.context["make"] == card
    assert re.findall(r'name="answer" value="(\w+)"', page.text) == [
        "keep", "unsure", "rest", "let_go",
    ]  # fmt: skip
    assert "Stop here" in page.text
    assert "Green velvet" in page.text
    page = owner_client.post(page.redirect_chain[-1][0], {"answer": "let_go"}, follow=True)
    assert "Let go: Velvet cape. Green velvet is free for something else." in words(page.text)
    entry = hidden(page.text, "entry")
    assert page.context["make"].words == "Tote bag"
    page = owner_client.post(page.redirect_chain[-1][0], {"answer": "unsure"}, follow=True)
    assert "Ideas: 0 carry on, 1 not sure, 0 rest, 1 dropped." in words(page.text)
    assert f'href="{card.get_absolute_url()}"' in page.text
    owner_client.post(reverse("own-undo"), {"entry": entry})
    assert card.cloth_plans.count() == 1


@pytest.mark.parametrize("data", [{}, {"answer": "burn"}])
def test_a_wrong_answer_changes_nothing_that_hangs(owner_client, card, data):
    address = reverse("sitting-act", args=[clock.today().year, "ideas"])
    assert owner_client.post(address, data, follow=True).status_code == 200
    assert Make.objects.get(pk=card.pk).state == "idea"
    assert not Look.objects.exists()


@pytest.mark.parametrize("since", ["", "-1", "9" * 40, "9" * 13, "x"])
def test_a_beginning_that_is_none_is_the_sittings(owner_client, card, since):
    address = reverse("sitting-act", args=[clock.today().year, "ideas"])
    page = owner_client.get(address, {"since": since})
    assert page.context["make"] == card


def kept(count):
    makes = f.MakeFactory.create_batch(count)
    for make in makes:
        Look.objects.create(make=make, answer="keep", was="idea", at=clock.now())
    return makes


@pytest.mark.parametrize("cards", [2, 4])
def test_two_cards_take_nine_queries(owner_client, cards, django_assert_num_queries):
    makes = kept(cards)
    Pair.objects.create(rather=makes[0], other=f.MakeFactory(), at=clock.now())
    with django_assert_num_queries(9):
        owner_client.get(reverse("look-back-pairs"))


@pytest.mark.parametrize("pick", [0, 1])
def test_the_one_that_was_tapped_is_the_one_rather_sewn(owner_client, pick):
    makes = kept(2)
    sent = {"one": makes[0].pk, "other": makes[1].pk, "rather": makes[pick].pk}
    page = owner_client.post(reverse("look-back-pairs"), sent, follow=True)
    assert Pair.objects.get().rather == makes[pick]
    assert "Wanted most" in page.content.decode()


def test_neither_leads_to_the_next_two(owner_client):
    first, other, third = kept(3)
    sent = {"one": first.pk, "other": other.pk}
    page = owner_client.post(reverse("look-back-pairs"), sent, follow=True)
    assert not Pair.objects.exists()
    assert third in [make for make, _ in page.context["two"]]


@pytest.mark.parametrize("wrong", ["same", "third", "none"])
def test_what_is_no_choice_between_the_two_is_refused(owner_client, wrong):
    first, other, third = kept(3)
    sent = {"one": first.pk, "other": other.pk, "rather": first.pk}
    sent |= {"same": {"other": first.pk}, "third": {"rather": third.pk}, "none": {"one": ""}}[wrong]
    page = owner_client.post(reverse("look-back-pairs"), sent, follow=True)
    assert "Choose one of the two, or neither." in page.content.decode()
    assert not Pair.objects.exists()
