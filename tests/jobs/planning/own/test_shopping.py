"""What is to buy fills by itself: notions and cloth of what is begun or planned next."""

import re
from decimal import Decimal

import pytest
from django.http import HttpResponse
from django.urls import reverse

from jobs.makes.models import Cloth, ClothMove, ClothPlan
from jobs.planning.models import Todo
from jobs.planning.own.shopping import notions_of
from studio.shop.models import Entry
from tests import factories as f
from tests.jobs.planning.pages import words
from tests.jobs.planning.test_todo import AT, add, listed, press
from tests.own_factories import ClothFactory, MakeFactory, NeedFactory, PatternFactory


def buys(page: HttpResponse) -> list[tuple[str, list[str]]]:
    """What is to buy for each make."""
    parts = re.findall(r'<section class="buys".*?</section>', page.text, re.DOTALL)
    return [
        (
            words(re.search(r"<h4.*?<a.*?>(.*?)</a>", part, re.DOTALL)[1]),
            [words(line) for line in re.findall(r'class="words">(.*?)</span>', part)],
        )
        for part in parts
    ]


def cloths(page: HttpResponse) -> list[str]:
    """What is said of cloth that is to buy."""
    part = re.search(r"<h3>Cloth</h3>(.*?)</ul>", page.text, re.DOTALL)
    lines = re.findall(r'class="words">(.*?)<a class="shelve', part[1] if part else "", re.DOTALL)
    return [words(line) for line in lines]


def test_notions_are_lines_or_parted_by_commas():
    assert notions_of("Zip 22 cm, rust\n- Petersham 25 mm\n\n") == [
        "Zip 22 cm, rust", "Petersham 25 mm",
    ]  # fmt: skip
    assert notions_of("zip, four buttons; Zip,") == ["zip", "four buttons"]
    assert notions_of("  ") == []


def test_to_buy_for_what_is_begun_or_planned_next(owner_client, watch):
    pattern = PatternFactory(notions="Zip 22 cm, petersham")
    MakeFactory(words="Skirt", state="lined_up", pattern=pattern)
    dress = MakeFactory(
        words="Dress", state="under_way", pattern=PatternFactory(notions="Twin needle")
    )
    f.FurtherPatternFactory(make=dress, pattern=PatternFactory(notions="Elastic\ntwin needle"))
    MakeFactory(words="Some idea", state="idea", pattern=pattern)
    MakeFactory(words="Without", state="under_way", pattern=PatternFactory())

    page = owner_client.get(AT)
    assert buys(page) == [
        ("Dress", ["Twin needle", "Elastic"]),
        ("Skirt", ["Zip 22 cm", "petersham"]),
    ]
    page = press(owner_client, page, "Bought: Zip 22 cm")
    assert buys(page)[1] == ("Skirt", ["Zip 22 cm", "petersham"])
    assert page.text.count('<li class="done">') == 1
    page = press(owner_client, page, "Bought: Twin needle")
    watch.shift(60 * 60 * 24)
    assert buys(owner_client.get(AT)) == [("Dress", ["Elastic"]), ("Skirt", ["petersham"])]


def test_the_part_stands_there_empty(owner_client, helper_client):
    page = owner_client.get(AT)
    assert "Nothing to buy. Cloth and notions of what is begun" in words(page.text)
    assert "To buy" not in helper_client.get(AT).text


def test_what_is_typed_and_begins_with_buy_is_to_buy(owner_client, helper_client):
    dress = MakeFactory(words="Jersey dress", state="under_way")
    for side, typed in (("mine", "Buy navy thread"), ("studio", "to buy: chalk"), ("buy", "pins")):
        page = add(owner_client, side, typed)
    owner_client.post(reverse("make-todo", args=[dress.pk]), {"words": "buy a twin needle"})
    page = owner_client.get(AT)
    assert listed(page, "buy") == ["navy thread", "chalk", "pins", "a twin needle"]
    assert (listed(page, "studio"), listed(page, "mine")) == ([], [])
    assert Todo.objects.get(words="a twin needle").make == dress
    page = press(owner_client, page, "Done: navy thread")
    assert listed(page, "buy", done=True) == ["navy thread"]
    # What hangs on a ticket stays with the studio, and so does what a helper types.
    f.TicketFactory(number="26-0143")
    assert listed(add(owner_client, "studio", "Buy black zip 26-0143"), "studio") == [
        "Buy black zip"
    ]
    page = add(helper_client, "studio", "buy needles")
    assert listed(page, "studio") == ["Buy black zip", "buy needles"]
    assert "pins" not in page.text


def test_cloth_is_to_buy_until_it_lies_on_the_shelf(owner_client):
    """As the pattern says it: 2.9 m of 140 cm, or 3.4 m where it is 115 cm wide."""
    pattern = PatternFactory(name="Wrap dress", size="42")
    for size, width, length in (("42", 1400, 2900), ("42", 1150, 3400), ("50", 1400, 3300)):
        NeedFactory(
            pattern=pattern, size=size, width_mm=width, width_typed=f"{width // 10} cm",
            length_mm=length, length_typed=f"{Decimal(length) / 1000:f} m",
        )  # fmt: skip
    dress = MakeFactory(words="Wrap dress", state="lined_up", pattern=pattern)
    scarf = MakeFactory(words="Scarf", state="under_way")
    MakeFactory(words="Some day", state="idea", pattern=pattern)
    page = owner_client.get(AT)
    assert cloths(page) == [
        "Cloth for Scarf",
        "Cloth for Wrap dress, about 2.9 m of 140 cm or 3.4 m of 115 cm",
    ]
    page = press(owner_client, page, "No cloth to buy for Scarf")
    assert cloths(page) == ["Cloth for Wrap dress, about 2.9 m of 140 cm or 3.4 m of 115 cm"]
    page = press(owner_client, page, "Undo")
    assert cloths(page)[0] == "Cloth for Scarf"

    address = f"{reverse('cloth-new')}?make={dress.pk}"
    assert address in page.text
    form = owner_client.get(address).text
    assert 'value="140 cm"' in form
    assert 'value="2.9 m"' in form
    sent = {"name": "Plum twill", "width": "140 cm", "length": "3.5 m", "kind": "woven"}
    key = re.search(r'name="form_key" value="(.*?)"', form)[1]
    for _ in range(2):
        owner_client.post(reverse("cloth-new"), sent | {"make": dress.pk, "form_key": key})
    plan = ClothPlan.objects.get(make=dress)
    assert (plan.cloth.left_mm, plan.mm, plan.typed) == (3500, 2900, "2.9 m")
    assert cloths(owner_client.get(AT)) == ["Cloth for Scarf"]
    owner_client.post(reverse("own-undo"), {"entry": Entry.objects.latest("pk").pk})
    assert not Cloth.objects.exists()
    assert not dress.cloth_plans.exists()
    assert scarf.cloth_plans.count() == 0


def test_what_is_short_is_to_buy_and_comes_on_the_same_shelf(owner_client):
    """2.07 m, of which 2 m are meant for one and 0.5 m for another: 0.43 m are short. Of 20.70
    paid for it, the same length costs 4.30.
    """
    moss = ClothFactory(name="Moss cotton", left_mm=Decimal(2070), unit="m", price=2070)
    for name, state, mm in (("Pyjamas", "under_way", 2000), ("Bag", "idea", 500)):
        make = MakeFactory(words=name, state=state)
        ClothPlan.objects.create(make=make, cloth=moss, mm=Decimal(mm), typed=f"{mm} mm")
    page = owner_client.get(AT)
    assert cloths(page) == ["0.43 m more of Moss cotton, for Bag"]
    shelf = owner_client.get(moss.get_absolute_url()).text
    assert "500 mm idea, 0.43 m short" in words(shelf)
    more = re.search(r'<a class="shelve[^>]*href="(.*?)"', page.text)[1]
    form = owner_client.get(more).text
    assert 'value="0.43 m"' in form
    key = re.search(r'name="form_key" value="(.*?)"', form)[1]
    for _ in range(2):
        owner_client.post(
            reverse("cloth-more", args=[moss.pk]), {"length": "0.43 m", "form_key": key}
        )
    moss.refresh_from_db()
    assert (moss.left_mm, moss.price) == (2500, 2500)
    assert ClothMove.objects.filter(why="bought").count() == 2
    assert cloths(owner_client.get(AT)) == []


def test_cloth_too_short_for_ideas_alone_is_to_buy(owner_client):
    moss = ClothFactory(name="Moss", left_mm=Decimal(1000), unit="m")
    for name, state, mm in (("Bag", "idea", 900), ("Hat", "resting", 300), ("Cap", "idea", None)):
        make = MakeFactory(words=name, state=state)
        ClothPlan.objects.create(make=make, cloth=moss, mm=mm and Decimal(mm))
    assert cloths(owner_client.get(AT)) == ["0.2 m more of Moss, for Hat"]


def test_where_no_length_was_said_the_pattern_says_what_is_short(owner_client):
    pattern = PatternFactory()
    NeedFactory(pattern=pattern, size="", width_mm=1400, length_mm=1850, length_typed="1.85 m")
    moss = ClothFactory(name="Moss", left_mm=Decimal(1400), width_mm=Decimal(1400), unit="m")
    make = MakeFactory(words="Top", state="lined_up", pattern=pattern)
    ClothPlan.objects.create(make=make, cloth=moss)
    assert cloths(owner_client.get(AT)) == ["0.45 m more of Moss, for Top"]


@pytest.mark.parametrize("each", [1, 3])
def test_short_cloth_asks_as_often_for_one_as_for_three(
    owner_client, each, django_assert_num_queries
):
    for _ in range(each):
        make = MakeFactory(state="lined_up", pattern=PatternFactory())
        NeedFactory(pattern=make.pattern)
        ClothPlan.objects.create(make=make, cloth=ClothFactory(), mm=Decimal(90_000))
    # As many as without cloth, what was cut of it, and what else it is meant for.
    with django_assert_num_queries(14):
        owner_client.get(AT)
