"""A card that is open in two windows: neither loses a word, and nobody is told "saved" wrongly.

The rule is that of any three-way merge, common practice in version control (GNU diff3, "Merging
From a Common Ancestor"): a change on one side is taken, equal changes are one, two different
changes of one place are a conflict that a person decides. Tickets have their own tests of it
(``jobs/counter/test_change_together.py``).
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse

from jobs.pricing.models import Operation, PriceRules
from studio.shop.models import Profile
from tests import factories, own_factories
from tests.conftest import logged_in
from tests.windows import Window, said


@dataclass(frozen=True)
class Room:
    """The card of what ``make`` makes; ``mine`` and ``theirs`` are a field and what is typed there.

    ``news`` says what they typed; ``held`` is what the row holds of both in the end. ``other`` is
    something else for my field, ``shown`` how the page shows it.
    """

    address: str
    make: Callable[[], Any]
    mine: tuple[str, str]
    theirs: tuple[str, str]
    news: str
    held: dict[str, Any]
    other: str
    shown: str


def profile() -> Profile:
    return Profile.objects.get()


ROOMS = {
    "client": Room(
        "client-edit", factories.ClientFactory, ("phone", "01 555 0199"),
        ("notes", "ring first"), "Notes: ring first",
        {"phone": "01 555 0199", "notes": "ring first"}, "01 555 0100", "01 555 0100",
    ),
    "own measure": Room(
        "own-measure", lambda: factories.OwnMeasureFactory(place=1), ("how", "Along the bone"),
        ("sided", "on"), "Left and right may differ: yes",
        {"how": "Along the bone", "sided": True}, "Over the bone", "Over the bone",
    ),
    "cloth": Room(
        "cloth-edit", own_factories.ClothFactory, ("width", "1.2 m"),
        ("washed", "on"), "Washed already: yes",
        {"width_mm": 1200, "washed": True}, "1.5 m", "1.5 m",
    ),
    "pattern": Room(
        "pattern-edit", own_factories.PatternFactory, ("minutes", "4:30"),
        ("kinds", "knit"), "Cloth it is for (none: any): Knit",
        {"minutes": 270, "kinds": ["knit"]}, "5", "5",
    ),
    "kind of garment": Room(
        "price-kind", factories.GarmentKindFactory, ("name", "Ball gown"),
        ("active", ""), "Offered at the counter: no",
        {"name": "Ball gown", "active": False}, "Evening gown", "Evening gown",
    ),
    "operation": Room(
        "price-operation", factories.OperationFactory, ("price", "26"),
        ("minutes", "35"), "Minutes: 35",
        {"price": 2600, "minutes": 35}, "28,50", "28.50",
    ),
    "surcharge": Room(
        "price-surcharge", factories.SurchargeFactory, ("percent", "12,5"),
        ("minutes", "7"), "And by fixed minutes for each: 7",
        {"percent": Decimal("12.5"), "minutes": 7}, "15", "15",
    ),
    "house rules": Room(
        "price-rules", factories.PriceRulesFactory, ("rush_percent", "40"),
        ("minimum_charge", "12"), "Minimum charge: 12.00",
        {"rush_percent": 40, "minimum_charge": 1200}, "50", "50",
    ),
    "studio": Room(
        "studio-profile", profile, ("phone", "01 555 0199"),
        ("unit", "in"), "Lengths in: Inches",
        {"phone": "01 555 0199", "unit": "in"}, "01 555 0200", "01 555 0200",
    ),
    "make": Room(
        "make-edit", own_factories.MakeFactory, ("words", "a coat of felt"),
        ("whom", "Ann"), "For whom: Ann",
        {"words": "a coat of felt", "whom": "Ann"}, "a cape", "a cape",
    ),
    "release": Room(
        "release-edit", own_factories.ReleaseFactory, ("name", "Coat"),
        ("target_on", "2026-05-01"), "Hoped for by: Fri 1 May 2026",
        {"name": "Coat"}, "Cape", "Cape",
    ),
}  # fmt: skip


@pytest.fixture(params=ROOMS)
def room(request, studio):
    return ROOMS[request.param]


@pytest.fixture
def opened(room, owner_client):
    """The row, and two windows of one person on its card."""
    row = room.make()
    args = [] if isinstance(row, Profile | PriceRules) else [row.pk]
    address = reverse(room.address, args=args)
    return row, Window(owner_client, address), Window(owner_client, address)


def typed(field: tuple[str, str]) -> dict[str, list[str]]:
    """An empty text is a box without its tick."""
    name, text = field
    return {name: [text] if text else []}


def test_what_only_one_of_them_touched_is_kept_from_both(room, opened):
    row, mine, other = opened
    other.type(**typed(room.theirs)).save()
    mine.type(**typed(room.mine)).save()

    assert (other.response.status_code, mine.response.status_code) == (302, 302)
    row.refresh_from_db()
    assert {name: getattr(row, name) for name in room.held} == room.held
    words = f"You, in another window, changed meanwhile: {room.news}. Both are saved."
    assert words in mine.said


def test_what_both_touched_is_asked_and_one_press_chooses(room, opened):
    row, mine, other = opened
    name, text = room.mine
    other.type(**{name: room.other}).save()
    mine.type(**typed(room.mine) | typed(room.theirs)).save()

    row.refresh_from_db()
    theirs = {key: getattr(row, key) for key in room.held}
    assert mine.response.status_code == 200
    words = f"You, in another window, changed this since you opened the page, to: {room.shown}."
    assert mine.text.count(words) == 2  # above the form, and at the field
    assert mine.text.count(f"Use {room.shown}") == mine.text.count(f"Keep {text}") == 1
    assert mine.page.fields[name] == [text]
    assert mine.page.fields[room.theirs[0]] == typed(room.theirs)[room.theirs[0]]

    # Saving once more decides nothing.
    mine.save()
    assert mine.response.status_code == 200
    row.refresh_from_db()
    assert {key: getattr(row, key) for key in room.held} == theirs

    mine.save(f"hold:{name}")
    assert mine.response.status_code == 302
    row.refresh_from_db()
    assert {key: getattr(row, key) for key in room.held} == room.held


def test_the_others_word_can_be_taken_and_equal_words_are_no_question(studio, helper, owner_client):
    client = factories.ClientFactory()
    address = reverse("client-edit", args=[client.pk])
    mine, other = Window(owner_client, address), Window(logged_in(helper), address)
    other.type(phone="01 555 0100", city="Larkfield", notes="two\nlines").save()
    mine.type(phone="01 555 0199", city="Larkfield", notes="two\r\nlines").save()
    assert mine.page.intents == ["take:phone", "hold:phone"]
    assert f"{helper.shown_name} changed this" in mine.text
    mine.save("take:phone")
    client.refresh_from_db()
    assert (mine.response.status_code, client.phone) == (302, "01 555 0100")


@pytest.mark.postgres
def test_the_table_of_a_pattern_is_one_thing(studio, owner_client):
    pattern = own_factories.NeedFactory(width_typed="140 cm", width_mm=1400).pattern
    address = reverse("pattern-edit", args=[pattern.pk])
    first, second, third = (Window(owner_client, address) for _ in range(3))
    first.type(need_1_width="90", need_1_length="3").save()
    second.type(place="drawer 2").save()
    assert [need.width_mm for need in pattern.needs.order_by("width_mm")] == [900, 1400]
    pattern.refresh_from_db()
    assert pattern.place == "drawer 2"

    third.type(need_1_width="115", need_1_length="2.5").save()
    assert third.response.status_code == 200
    assert pattern.needs.count() == 2
    assert third.page.fields["need-1-width"] == ["115"]
    third.save("take:Cloth it asks for")
    assert sorted(need.width_mm for need in pattern.needs.all()) == [900, 1400]
    fourth, fifth = Window(owner_client, address), Window(owner_client, address)
    fourth.type(need_0_width="", need_0_length="", need_0_size="").save()
    fifth.type(need_0_width="115", need_0_length="2.5").save().save("hold:Cloth it asks for")
    assert sorted(need.width_mm for need in pattern.needs.all()) == [1150, 1400]


@pytest.mark.postgres
def test_two_who_carry_rows_of_the_price_list(studio, owner_client):
    """Each row that one of them moved goes where it was put; one that both moved goes once."""
    kind = factories.GarmentKindFactory()
    rows = [factories.OperationFactory(garment_kind=kind, name=name) for name in "ABCD"]
    page = owner_client.get(reverse("price-operation", args=[rows[2].pk])).text
    (since,) = set(re.findall(r'name="since" value="(\d+)"', page))

    def names() -> str:
        return "".join(Operation.objects.filter(garment_kind=kind).values_list("name", flat=True))

    def move(row: Operation, way: str) -> list[str]:
        address = reverse("price-operation-move", args=[row.pk])
        return said(owner_client.post(address, {"way": way, "since": since}))

    assert move(rows[3], "up")[-1] == "“D” moved."
    assert names() == "ABDC"
    assert move(rows[1], "up")[-1] == "“B” moved."
    assert names() == "BADC"
    assert move(rows[3], "up")[-1] == "“D” was moved meanwhile. Look where it stands now."
    assert names() == "BADC"


def test_a_page_that_carries_rubbish_saves_what_was_typed(studio, owner_client):
    client = factories.ClientFactory()
    for rubbish in ("[]", "{", '{"entry": 1, "fields": [], "table": {}}'):
        window = Window(owner_client, reverse("client-edit", args=[client.pk]))
        window.type(opened=rubbish, city=rubbish).save()
        client.refresh_from_db()
        assert client.city == rubbish
