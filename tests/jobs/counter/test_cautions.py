"""Cautions on the drop-off page, without scripts: as soon as the kind is chosen, never a block."""

import pytest
from django.urls import reverse

from jobs.tickets.models import CautionRead, Garment, Ticket
from tests import factories
from tests.jobs.counter.html_form import Counter


@pytest.fixture
def hem(studio):
    kind = factories.GarmentKindFactory(name="Night dress", concern="child_night")
    return factories.OperationFactory(garment_kind=kind, name="Hem")


@pytest.fixture
def counter(owner_client, hem):
    mary = factories.ClientFactory(name="Mary Larkin")
    page = Counter(owner_client, f"/drop-off/?client={mary.pk}")
    return page.press(f"add-garment:{hem.garment_kind_id}")


def work(counter, hem):
    return counter.press(f"add-line:0:{hem.pk}")


def test_the_caution_is_there_before_any_work_is_chosen(counter):
    assert "<strong>Children&#x27;s night clothes.</strong> Do not let it out" in counter.text
    assert "Source: 16 CFR 1120 and ASTM F1816; EN 14682 (read in the source)." in counter.text


def test_a_tick_keeps_who_read_which_caution(counter, hem, owner):
    work(counter, hem).type(g0_read=["night"])
    counter.press("enter")
    assert counter.form.fields["g0-read"] == ["night"]
    counter.press("save")
    read = CautionRead.objects.get()
    assert (read.garment, read.key, read.by) == (Garment.objects.get(), "night", owner)


def test_without_a_tick_the_ticket_is_saved_all_the_same(counter, hem):
    work(counter, hem).press("save")
    assert Ticket.objects.count() == 1
    assert not CautionRead.objects.exists()


def test_the_ticks_go_to_their_own_garments(counter, hem):
    work(counter, hem)
    counter.press(f"add-garment:{hem.garment_kind_id}").press(f"add-line:1:{hem.pk}")
    counter.press("remove-garment:0")
    counter.press(f"add-garment:{hem.garment_kind_id}").press(f"add-line:2:{hem.pk}")
    counter.type(g2_read=["cords"]).press("save")
    read = CautionRead.objects.get()
    assert (read.garment.letter, read.key) == ("B", "cords")


def test_a_garment_added_to_a_ticket_is_read_and_one_that_stands_is_not_asked(
    counter, hem, owner_client
):
    work(counter, hem).press("save")
    ticket = Ticket.objects.get()
    change = Counter(owner_client, reverse("ticket-change", args=[ticket.number]))
    assert "I have read this" not in change.text
    change.press(f"add-garment:{hem.garment_kind_id}").press(f"add-line:1:{hem.pk}")
    change.type(g1_read=["night"]).press("save")
    assert CautionRead.objects.get().garment.letter == "B"


def test_what_the_label_says_is_kept_and_stands_on_the_change_page(counter, hem, owner_client):
    work(counter, hem).type(g0_fibre="80 % wool 20 % polyamide", g0_iron="2").press("save")
    garment = Garment.objects.get()
    assert (garment.fibre, garment.iron) == ("80 % wool 20 % polyamide", "2")
    change = Counter(owner_client, reverse("ticket-change", args=[garment.ticket.number]))
    assert change.form.fields["g0-fibre"] == ["80 % wool 20 % polyamide"]
    change.type(g0_iron="1").press("save")
    garment.refresh_from_db()
    assert (garment.fibre, garment.iron) == ("80 % wool 20 % polyamide", "1")


def test_new_or_worn_brings_the_note_on_tax_at_once(counter, hem, owner_client):
    work(counter, hem)
    assert "modifying used clothing" not in counter.text
    fields = counter.form.fields | {"g0-worn": ["new"]}
    live = owner_client.post("/drop-off/", fields, headers={"HX-Request": "true"})
    assert 'hx-swap-oob="innerHTML:#g0-notes"' in live.text
    assert "modifying used clothing carries the reduced rate" in live.text
