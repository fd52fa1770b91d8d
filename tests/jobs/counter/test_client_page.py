"""The page of a client: what hangs here, what is to pay, the last jobs, measures, notes."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from clients.models import Client
from jobs.tickets import actions
from studio.shop.history import of
from tests.drafts import draft, hem, received, take_in, trousers
from tests.factories import ClientFactory, SheetFactory


@pytest.fixture
def reed(db):
    return ClientFactory(name="Anna Reed", phone="087 555 4321", notes="Left leg shorter.\nRing.")


def page(browser, client):
    return browser.get(reverse("client", args=[client.pk]))


def collected(studio, owner, client, *garments):
    ticket = received(studio, owner, *garments, client=client)
    actions.tick_all(ticket=ticket, by=owner)
    return actions.hand_over(ticket=ticket, garments=ticket.garments.all(), tried_on=[], by=owner)


def test_somebody_new_has_an_empty_rail_and_one_thing_to_do(owner_client, studio, reed):
    response = page(owner_client, reed)
    assert "first garment" in response.text
    assert "Nothing to pay" in response.text
    assert response.context["glance"] is None
    assert response.text.count("btn main") == 1
    assert f'href="/drop-off/?client={reed.pk}"' in response.text


def test_to_pay_equals_its_rows(owner_client, studio, owner, reed):
    """24.00 for a hem, 30.00 for taking in the sides: 24 + 54 = 78, each ticket a row."""
    received(studio, owner, trousers(hem()), client=reed)
    received(studio, owner, trousers(hem(), take_in()), client=reed)
    response = page(owner_client, reed)
    rows = response.context["owing"]
    assert response.context["to_pay"] == sum(ticket.balance for ticket in rows) == 2400 + 5400
    assert "€78.00" in response.text


def test_what_is_ready_is_the_next_step(owner_client, studio, owner, reed):
    ticket = received(studio, owner, client=reed)
    actions.tick_all(ticket=ticket, by=owner)
    actions.mark_ready(ticket=ticket, by=owner)
    text = page(owner_client, reed).text
    assert f'<a class="btn main big" href="/t/{ticket.number}/pick-up/">Pick-up</a>' in text


@pytest.mark.postgres
def test_the_same_again_is_one_link_from_the_last_jobs(owner_client, studio, owner, reed):
    ticket = collected(studio, owner, reed, trousers(take_in(), hem()))
    lines = list(ticket.garments.get().lines.all())
    response = page(owner_client, reed)
    job = response.context["jobs"][0]
    assert job.price == 5400
    works = "".join(f"&amp;work={line.operation_id}" for line in lines if line.operation_id)
    if works:
        assert f'href="/drop-off/?client={reed.pk}{works}"' in response.text


def test_a_glance_at_the_last_sheet(owner_client, studio, owner, reed):
    sheet = SheetFactory(client=reed, taken_on=date(2026, 3, 2))
    for key, typed in (("waist", "79.5"), ("hip", "104"), ("neck", "36")):
        sheet.values.create(key=key, mm=Decimal(typed) * 10, typed=typed, unit="cm")
    glance = page(owner_client, reed).context["glance"]
    assert glance.values == [("Waist", "79.5"), ("Hip", "104")]
    assert len(glance.figure.lines) == 3


def test_a_note_is_one_more_line_and_can_be_taken_back(owner_client, reed):
    address = reverse("client-note", args=[reed.pk])
    owner_client.post(address, {"note": "  No  messages\nat work. "})
    reed.refresh_from_db()
    assert reed.notes == "Left leg shorter.\nRing.\nNo messages at work."
    owner_client.post(reverse("client-undo", args=[of(reed).first().pk]))
    reed.refresh_from_db()
    assert reed.notes == "Left leg shorter.\nRing."


@pytest.mark.parametrize("note", ["", "   ", "\0"])
def test_an_empty_note_changes_nothing(owner_client, reed, note):
    owner_client.post(reverse("client-note", args=[reed.pk]), {"note": note})
    assert not of(reed)


def test_full_notes_are_not_cut(owner_client):
    full = ClientFactory(notes="x" * 3990)
    address = reverse("client-note", args=[full.pk])
    response = owner_client.post(address, {"note": "y" * 20}, follow=True)
    assert "The notes are full" in response.text
    assert Client.objects.get(pk=full.pk).notes == "x" * 3990


def test_a_helper_s_page_has_no_currency_sign(helper_client, studio, owner, reed):
    collected(studio, owner, reed)
    received(studio, owner, client=reed)
    text = page(helper_client, reed).text
    assert "€" not in text
    assert "Hangs here" in text


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_asks_the_same_for_any_number_of_jobs(
    owner_client, studio, owner, reed, django_assert_num_queries, count
):
    SheetFactory(client=reed)
    for _ in range(count):
        collected(studio, owner, reed)
        actions.receive(client=reed, draft=draft(), studio=studio, by=owner)
    with django_assert_num_queries(18):
        page(owner_client, reed)
