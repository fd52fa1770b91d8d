"""Somebody asks to be erased: the owner does it by thumb, and the invoice still prints."""

import re

import pypdf
from playwright.sync_api import expect

from clients.models import Client
from jobs.tickets import actions
from tests.browser.hands import signed_in
from tests.drafts import issued, paid, received
from tests.factories import ClientFactory


def test_an_erased_clients_invoice_still_prints(page, studio, owner, tmp_path):
    client = ClientFactory(name="Maeve Tuohy", phone="085 555 0143", email="maeve@tuohy.example")
    ticket = received(studio, owner, client=client)
    invoice = issued(studio, owner, ticket)
    paid(studio, owner, ticket, amount=ticket.gross)
    actions.tick_all(ticket=ticket, by=owner)
    garments = ticket.garments.all()
    actions.hand_over(ticket=ticket, garments=garments, tried_on=garments, by=owner)
    signed_in(page, owner)

    page.goto(f"/clients/{client.pk}/")
    page.get_by_role("link", name="What is kept of this client").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("What is kept of Maeve Tuohy")
    with page.expect_download() as download:
        page.get_by_role("link", name="Save everything as a file").tap()
    assert download.value.suggested_filename.startswith("maeve-tuohy-")

    page.get_by_role("link", name="Erase this client").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Erase Maeve Tuohy")
    page.get_by_label("Name of the client").fill("maeve tuohy")
    page.get_by_role("button", name="Erase Maeve Tuohy").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text(re.compile("^Erased client"))
    expect(page.get_by_role("link", name="Drop-off", exact=True)).to_have_count(1)
    assert Client.objects.get(pk=client.pk).phone == ""

    page.get_by_role("link", name="All 1 ticket").tap()
    page.get_by_role("link", name=ticket.number).first.tap()
    expect(page.get_by_role("link", name="Erased client")).to_be_visible()
    expect(page.locator("main")).not_to_contain_text("Maeve")
    printed = page.request.get(f"/invoices/{invoice.number}/paper/")
    assert printed.headers["content-type"] == "application/pdf"
    paper = tmp_path / "invoice.pdf"
    paper.write_bytes(printed.body())
    assert "Maeve Tuohy" in pypdf.PdfReader(paper).pages[0].extract_text()
