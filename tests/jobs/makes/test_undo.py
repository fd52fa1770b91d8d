"""What was done is said once, can be taken back there and later, and is read in a list."""

import re
from uuid import uuid4

import pytest
from django.urls import reverse

from jobs.makes.ideas import actions as ideas
from jobs.makes.models import Cloth, Pair, Pattern, Release
from jobs.makes.releases import actions as releases
from tests import factories as f
from tests.jobs.planning.pages import words

ADDS = {
    "pattern-new": (
        Pattern,
        {"name": "Coat", "need-TOTAL_FORMS": "0", "need-INITIAL_FORMS": "0"},
        "pattern-list",
    ),
    "cloth-new": (
        Cloth,
        {"name": "Wool", "width": "150", "length": "2.5", "kind": "woven"},
        "cloth-list",
    ),
    "release-new": (Release, {"name": "Wrap skirt"}, "releases"),
}


def sent_by_undo(page) -> dict[str, str]:
    """What the undo button of a page sends."""
    form = page.text[page.text.index(f'action="{reverse("own-undo")}"') :].split("</form>")[0]
    return dict(re.findall(r'name="(entry|back)" value="([^"]*)"', form))


@pytest.mark.parametrize("name", ADDS)
def test_what_was_added_goes_by_one_press_and_leads_to_the_list(owner_client, studio, name):
    model, facts, every = ADDS[name]
    page = owner_client.post(reverse(name), facts | {"form_key": uuid4()}, follow=True)
    assert model.objects.count() == 1
    answer = owner_client.post(reverse("own-undo"), sent_by_undo(page))
    assert answer["Location"] == reverse(every)
    assert not model.objects.exists()


def test_a_choice_between_two_ideas_is_taken_back(owner_client, studio):
    first, other = f.MakeFactory.create_batch(2)
    address = reverse("look-back-pairs")
    facts = {"one": first.pk, "other": other.pk, "rather": first.pk}
    page = owner_client.post(address, facts, follow=True)
    assert f"{first} rather than {other}" in words(page.text)
    owner_client.post(reverse("own-undo"), sent_by_undo(page))
    assert not Pair.objects.exists()


@pytest.mark.postgres
def test_a_wash_is_taken_back(owner_client, studio):
    linen = f.ClothFactory()
    facts = {"before": "3", "after": "2.85", "whole": "all", "form_key": uuid4()}
    page = owner_client.post(reverse("cloth-wash", args=[linen.pk]), facts, follow=True)
    assert "Washed: " in words(page.text)
    undo = re.search(r'action="([^"]*moves/\d+/undo/)"', page.text)[1]
    assert "3 m left" in words(owner_client.post(undo, follow=True).text)
    linen.refresh_from_db()
    assert (linen.washed, linen.shrink_along) == (False, None)


def test_what_was_done_is_read_later_and_the_latest_taken_back(owner_client, studio, owner):
    make = f.MakeFactory(words="Coat", heat=1)
    for heat in (2, 3):
        ideas.set_heat(make=make, heat=heat, by=owner)
    ideas.start(make=make, by=owner)
    address = reverse("make-changes", args=[make.pk])
    for state, heat in (("idea", 3), ("idea", 2), ("idea", 1)):
        page = owner_client.get(address)
        answer = owner_client.post(reverse("own-undo"), sent_by_undo(page))
        assert answer["Location"] == address
        make.refresh_from_db()
        assert (make.state, make.heat) == (state, heat)
    page = words(owner_client.get(address).text)
    assert "Undone: Under way: Coat" in page
    assert "Under way: Coat (undone)" in page


def test_a_helper_reads_and_takes_back_nothing_of_the_money(helper_client, owner_client, owner):
    release = f.ReleaseFactory(name="Shirt", price=900)
    entry = releases.price_release(release=release, price=1200, by=owner)
    address = reverse("release-changes", args=[release.pk])
    assert "Price and fees changed: Shirt" in words(owner_client.get(address).text)
    assert "Price and fees" not in words(helper_client.get(address).text)
    helper_client.post(reverse("own-undo"), {"entry": entry.pk})
    release.refresh_from_db()
    assert release.price == 1200
