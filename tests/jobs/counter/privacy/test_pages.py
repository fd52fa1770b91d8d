"""The pages: what is kept, the file, and the last look before erasing."""

import io
import zipfile

import pytest
from django.urls import reverse

from clients.models import Client
from jobs.tickets import actions as steps
from tests import factories as f
from tests.drafts import received
from tests.jobs.counter.privacy.full_life import TOLD


def address(name: str, client: Client) -> str:
    return reverse(name, args=[client.pk])


def settled(studio, owner, client: Client, tickets: int = 1) -> None:
    for _ in range(tickets):
        ticket = received(studio, owner, client=client)
        steps.cancel(ticket=ticket, why="moved away", by=owner)


def test_the_client_page_leads_there_but_not_for_a_helper(owner_client, helper_client, studio):
    client = f.ClientFactory()
    link = f'href="{address("client-privacy", client)}"'
    assert link in owner_client.get(address("client", client)).text
    assert link not in helper_client.get(address("client", client)).text


def test_the_page_counts_what_is_kept(life, owner_client):
    text = owner_client.get(address("client-privacy", life.client)).text
    for heading, count in (("Entries", 2), ("Measurement sheets", 1), ("Payments", 1)):
        assert f"<dt>{heading}</dt><dd>{count}</dd>" in text


def test_the_file_comes_under_the_clients_name(life, owner_client):
    response = owner_client.get(address("client-export", life.client))
    assert response["Content-Type"] == "application/zip"
    assert response["Cache-Control"] == "no-store, private"
    assert 'filename="oonagh-quillfeather-' in response["Content-Disposition"]
    archive = zipfile.ZipFile(io.BytesIO(response.getvalue()))
    assert archive.testzip() is None
    assert TOLD.notes in archive.read("client.json").decode()


def test_a_merged_entry_leads_to_the_one_that_stays(life, owner_client):
    for name in ("client-privacy", "client-erase"):
        response = owner_client.get(address(name, life.merged))
        assert response["Location"] == address(name, life.client)
    export = owner_client.get(address("client-export", life.merged))
    assert "oonagh-quillfeather" in export["Content-Disposition"]


def test_the_page_says_what_goes_and_what_stays(life, owner_client):
    text = owner_client.get(address("client-erase", life.client)).text
    assert "Measurement sheets with every measure, also of a minor: 1<" in text
    assert "agreements, as they are stored here: 6<" in text
    assert "Invoices and credit notes (1), payments (1) and their receipts" in text


def test_another_name_erases_nobody(studio, owner, owner_client):
    client = f.ClientFactory(name="Zoë Ó Briain")
    response = owner_client.post(address("client-erase", client), {"name": "Zoe"})
    assert "That is not “Zoë Ó Briain”." in response.text
    client.refresh_from_db()
    assert (client.name, client.erased_at) == ("Zoë Ó Briain", None)


def test_the_name_may_be_typed_without_capitals_and_accents(studio, owner, owner_client):
    client = f.ClientFactory(name="Zoë Ó Briain")
    settled(studio, owner, client)
    where = address("client-erase", client)
    response = owner_client.post(where, {"name": " zoe o  briain "}, follow=True)
    assert "The client is erased. Invoices and receipts stay." in response.text
    assert "Erased on" in response.text
    assert address("client-edit", client) not in response.text
    again = owner_client.post(where, {"name": "Zoë Ó Briain"}, follow=True)
    assert "This client is erased." in again.text


def test_what_is_open_is_named_and_stands_in_the_way(studio, owner, owner_client):
    ticket = received(studio, owner, client=f.ClientFactory(name="Ilse"))
    where = address("client-erase", ticket.client)
    text = owner_client.get(where).text
    assert f"Ticket {ticket.number} is received" in text
    assert 'name="name"' not in text
    refused = owner_client.post(where, {"name": "Ilse"})
    assert f"On ticket {ticket.number} €24.00 is still to pay." in refused.text
    assert Client.objects.get(pk=ticket.client_id).erased_at is None


def test_the_page_tells_of_the_name_in_other_notes(studio, owner, owner_client):
    client = f.ClientFactory(name="Ilse Marrow")
    f.AppointmentFactory(name="Measure ilse marrow at home")
    f.DeclinedFactory(note="for Ilse Marrow's sister")
    f.ClientFactory(name="Bea", notes="sent by Ilse Marrow")
    other = received(studio, owner, note="with Ilse Marrow's dress")
    received(studio, owner, client=client, note="Ilse Marrow herself")
    text = owner_client.get(address("client-erase", client)).text
    for place in ("an appointment on ", "a declined rush of ", "the notes on Bea"):
        assert f"<li>{place}" in text
    assert f"<li>ticket {other.number}</li>" in text
    assert text.count("<li>ticket ") == 1


def test_a_ticket_never_invoiced_is_pointed_out(studio, owner, owner_client):
    ticket = received(studio, owner)
    steps.tick_all(ticket=ticket, by=owner)
    garments = ticket.garments.all()
    steps.hand_over(ticket=ticket, garments=garments, tried_on=garments, by=owner)
    text = owner_client.get(address("client-erase", ticket.client)).text
    assert f'<a href="{ticket.get_absolute_url()}">{ticket.number}</a>' in text
    assert "Never invoiced" in text


@pytest.mark.parametrize("tickets", [1, 3])
@pytest.mark.parametrize(("name", "queries"), [("client-privacy", 14), ("client-erase", 20)])
def test_queries_do_not_grow(
    name, queries, tickets, studio, owner, owner_client, django_assert_num_queries
):
    client = f.ClientFactory()
    settled(studio, owner, client, tickets)
    with django_assert_num_queries(queries):
        owner_client.get(address(name, client))
