"""The page of a client: what hangs here, what is to pay, the last jobs, measures, notes."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from clients.models import Client
from jobs.billing.actions import record_payment
from jobs.tickets import actions
from studio.shop.history import of
from tests.drafts import draft, hem, received, take_in, trousers
from tests.factories import ClientFactory, SheetFactory
from tests.pages import page_of


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


def test_the_deposit_of_a_cancelled_ticket_is_given_back_and_never_netted(
    owner_client, studio, owner, reed
):
    """24.00 are owed for a hem; 10.00 were left on work that was cancelled, 3.50 on another.

    By hand: to pay 24.00, to give back 10.00 + 3.50 = 13.50. Never 10.50, the one less the other.
    """
    received(studio, owner, trousers(hem()), client=reed)
    for minor in (1000, 350):
        gone = received(studio, owner, trousers(hem()), client=reed)
        record_payment(
            ticket=gone, amount=minor, method="cash", kind="deposit", by=owner,
            studio=studio, form_key=uuid4(),
        )  # fmt: skip
        actions.cancel(ticket=gone, why="changed her mind", by=owner)
    shown = page_of(owner_client, reverse("client", args=[reed.pk])).one(
        "section[aria-labelledby=owed]"
    )
    sums = [node.text for node in shown.all(".big-number")]
    assert sums == ["€24.00", "€13.50"]
    assert shown.text.count("to give back") == 2
    assert "10.50" not in shown.text


def test_a_company_is_told_what_its_invoice_needs(owner_client, helper_client, studio, reed):
    address = reverse("client", args=[reed.pk])
    words = "and for a company, the client's street and town are needed."
    assert words not in page_of(owner_client, address).text
    change = {"who": "company", "contact_person": "Ida Quill"}
    Client.objects.filter(pk=reed.pk).update(**change)
    assert words in page_of(owner_client, address).text
    assert "Ida Quill" in page_of(helper_client, address).one("h1").text
    Client.objects.filter(pk=reed.pk).update(street="1 Quay", city="Killala")
    assert words not in page_of(owner_client, address).text
    Client.objects.filter(pk=reed.pk).update(vat_number="12")
    assert "VAT number has not the form" in page_of(owner_client, address).text


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
    assert glance.values == [("Waist", "79.5", None), ("Hip", "104", None)]
    assert len(glance.figure.lines) == 3
    # What a later sheet lacks is still known, with its day.
    later = SheetFactory(client=reed, taken_on=date(2026, 3, 9))
    for key, typed in (("hip", "105"), ("inseam", "78")):
        later.values.create(key=key, mm=Decimal(typed) * 10, typed=typed, unit="cm")
    glance = page(owner_client, reed).context["glance"]
    first = date(2026, 3, 2)
    assert glance.values == [
        ("Waist", "79.5", first), ("Hip", "105", None), ("Inside leg", "78", None)
    ]  # fmt: skip
    assert (glance.sheet, len(glance.figure.lines)) == (later, 4)


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
