"""The pages of the look back as a browser gets them."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from jobs.makes.models import Look, Make, Pair
from studio.shop import clock
from tests import factories as f

SHAMING = re.compile(
    r"overdue|late\b|fail|behind|\d+ (left|to go|of \d+)|still not|abandon", re.IGNORECASE
)


def hidden(page: str, name: str) -> str:
    return re.search(rf'name="{name}" value="([^"]*)"', page)[1]


@pytest.fixture
def card(owner_client):
    make = f.MakeFactory(words="Velvet cape")
    f.ClothPlanFactory(make=make, cloth__name="Green velvet")
    f.MakeFactory(words="Tote bag", added_at=clock.now() + timedelta(seconds=1))
    return make


def test_one_card_with_three_answers_and_a_way_out(owner_client, card):
    page = owner_client.get(reverse("look-back")).content.decode()
    assert "Velvet cape" in page
    assert "Green velvet" in page
    assert "Tote bag" not in page
    assert re.findall(r'name="answer" value="(\w+)"', page) == ["keep", "let_go", "unsure"]
    assert "Enough for today" in page
    assert not SHAMING.search(re.sub(r"<[^>]*>", " ", page))


def test_an_answer_leads_to_the_next_card_and_undo_back_to_it(owner_client, card):
    since = hidden(owner_client.get(reverse("look-back")).content.decode(), "since")
    sent = {"answer": "let_go", "since": since}
    page = owner_client.post(reverse("look-answer", args=[card.pk]), sent, follow=True)
    text = page.content.decode()
    assert "Let go: Velvet cape. Green velvet is free for something else." in text
    assert page.context["make"].words == "Tote bag"
    back = {"entry": hidden(text, "entry"), "since": since}
    again = owner_client.post(reverse("look-undo"), back, follow=True)
    assert again.context["make"] == card
    assert card.cloth_plans.count() == 1


def test_the_end_of_a_sitting_names_what_was_let_go(owner_client, card):
    since = hidden(owner_client.get(reverse("look-back")).content.decode(), "since")
    for make, answer in zip(Make.objects.order_by("pk"), ["let_go", "keep"], strict=True):
        page = owner_client.post(
            reverse("look-answer", args=[make.pk]), {"answer": answer, "since": since}, follow=True
        )
    text = page.content.decode()
    assert "That is the whole wall." in text
    assert f'href="{card.get_absolute_url()}"' in text
    assert not SHAMING.search(re.sub(r"<[^>]*>", " ", text))


@pytest.mark.parametrize("data", [{}, {"answer": "burn"}, {"answer": "keep", "since": "x"}])
def test_a_wrong_answer_changes_nothing_that_hangs(owner_client, card, data):
    page = owner_client.post(reverse("look-answer", args=[card.pk]), data, follow=True)
    assert page.status_code == 200
    assert Make.objects.get(pk=card.pk).state == "idea"
    assert not Look.objects.exists()


@pytest.mark.parametrize("since", ["", "-1", "9" * 40, "x"])
def test_a_beginning_that_is_none_begins_anew(owner_client, card, since):
    page = owner_client.get(reverse("look-back"), {"since": since})
    assert page.context["make"] == card


def test_what_was_never_done_takes_nothing_back(owner_client, card):
    Look.objects.create(make=card, answer="keep", was="idea", at=clock.now())
    page = owner_client.post(reverse("look-undo"), {"entry": "x"}, follow=True)
    assert "This can be undone no more." in page.content.decode()
    assert not Look.objects.get().undone_at


@pytest.mark.parametrize("cards", [1, 3])
def test_a_card_takes_six_queries(owner_client, cards, django_assert_num_queries):
    for make in f.MakeFactory.create_batch(cards):
        f.ClothPlanFactory(make=make, cloth__swatch=f.PictureFactory())
        make.pictures.add(f.PictureFactory())
    with django_assert_num_queries(6):
        owner_client.get(reverse("look-back"))


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
