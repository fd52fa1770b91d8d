"""The papers of a ticket as the pages link to them: stored once, and without money for a helper."""

import re

import pytest
from django.urls import reverse

from jobs.tickets import actions
from jobs.tickets.actions.agree import draft_of
from jobs.tickets.models import AgreementSheet, Photo
from studio.shop.models import Profile, StoredPaper
from tests import papers
from tests.drafts import hem, received, take_in, trousers
from tests.factories import ClientFactory, OperationFactory, PhotoFactory

A4, LETTER, A5, A6, A7 = (210, 297), (215.9, 279.4), (148, 210), (105, 148), (74, 105)


@pytest.fixture
def ticket(studio, owner):
    return received(
        studio,
        owner,
        trousers(hem(), take_in()),
        trousers(kind_name="Skirt"),
        client=ClientFactory(name="Maeve Tuohy"),
        deposit=1000,
    )


@pytest.fixture
def fetch(ticket, owner_client):
    def get(name: str, *more, by=owner_client) -> bytes:
        with papers.no_complaints():
            response = by.get(reverse(name, args=[ticket.number, *more]))
        assert response.status_code == 200
        assert response.headers["Content-Type"] == "application/pdf"
        assert response.headers["Content-Disposition"].startswith("inline")
        assert response.headers["Cache-Control"] == "no-store, private"
        return response.content

    return get


def set_up(**facts) -> None:
    Profile.objects.update(**facts)


def lies(**sizes: dict[str, list[str]]) -> None:
    """One printer each, named after its size: ``lies(A5=["claim"], A7=["tags"])``."""
    printers = [{"name": size, "size": size, "papers": held} for size, held in sizes.items()]
    set_up(printers=printers)


def test_each_printer_gets_one_file_of_one_size(fetch, ticket):
    """A press never mixes sizes: claim ticket on the sheet, tags on cards, each by itself."""
    first, second = fetch("ticket-press", 1), fetch("ticket-press", 2)
    assert (papers.sizes(first), papers.sizes(second)) == ([A4], [A6, A6])
    assert fetch("ticket-papers") == first
    address = f"http://testserver/t/{ticket.number}/"
    assert [set(codes) for pdf in (first, second) for codes in papers.codes(pdf)] == [{address}] * 3
    assert papers.reader(second).metadata.title == f"2 tags {ticket.number} version 1"
    assert papers.reader(first).trailer["/Root"]["/Lang"] == "en-IE"


def test_one_printer_of_sheets_takes_claim_ticket_and_tags(fetch, ticket):
    """Both tags stand on one sheet of their own."""
    lies(Letter=["claim", "tags", "work", "agreement", "invoice", "receipt", "lists"])
    pdf = fetch("ticket-press", 1)
    assert papers.sizes(pdf) == [LETTER, LETTER]
    assert papers.text(pdf).count(ticket.number) >= 4
    assert papers.reader(pdf).metadata.title.startswith("Claim ticket and 2 tags")


def test_a_printer_that_is_gone_prints_nothing(fetch, ticket, owner_client):
    assert owner_client.get(reverse("ticket-press", args=[ticket.number, 3])).status_code == 404


def test_the_saved_page_offers_one_press_for_each_printer(ticket, owner_client):
    lies(A4=["work", "agreement", "invoice", "receipt", "lists"], roll=["claim"], A7=["tags"])
    page = owner_client.get(reverse("ticket-saved", args=[ticket.number])).text
    links = re.findall(
        rf'href="/t/{ticket.number}/papers/(\d).pdf" target="_blank">.*?<span>(.*?)<span ', page
    )
    assert links == [
        ("2", "Print: claim ticket<small>roll</small>"),
        ("3", "Print: 2 tags<small>A7</small>"),
    ]


def test_the_saved_page_warns_while_papers_say_neither_address_nor_phone(ticket, owner_client):
    address, missing = reverse("ticket-saved", args=[ticket.number]), "No address or phone"
    for street, phone in (("Mill Lane 3", "01 555 0100"), ("", "01 555 0100"), ("Mill Lane 3", "")):
        Profile.objects.update(street=street, phone=phone)
        assert missing not in owner_client.get(address).text
    Profile.objects.update(street="", phone="")
    page = owner_client.get(address).text
    assert missing in page
    assert f'href="{reverse("studio-profile")}#id_street"' in page
    assert 'id="id_street"' in owner_client.get(reverse("studio-profile")).text


@pytest.mark.parametrize(
    ("name", "usual", "changed"),
    [
        ("ticket-papers", [A4], [A5]),
        ("ticket-claim", [A4], [A5]),
        ("ticket-tags", [A6, A6], [A7, A7]),
        ("ticket-work-sheet", [A4], [A5]),
    ],
)
def test_paper_has_the_size_that_is_in_the_printer(fetch, name, usual, changed, ticket):
    assert papers.sizes(fetch(name)) == usual
    AgreementSheet.objects.all().delete()
    lies(A5=["claim", "work", "agreement", "invoice", "receipt", "lists"], A7=["tags"])
    assert papers.sizes(fetch(name)) == changed


@pytest.mark.parametrize(("roll", "wide"), [("roll", 80), ("roll-58", 58)])
def test_a_studio_with_a_roll_presses_the_slip_alone(fetch, roll, wide):
    lies(
        **{
            "A4": ["work", "agreement", "invoice", "receipt", "lists"],
            roll: ["claim"],
            "A6": ["tags"],
        }
    )
    ((width, _),) = papers.sizes(fetch("ticket-papers"))
    assert width == wide
    assert papers.sizes(fetch("ticket-roll"))[0][0] == wide
    assert papers.sizes(fetch("ticket-press", 3)) == [A6, A6]
    assert papers.sizes(fetch("ticket-claim")) == [A4]


def test_a_reprint_is_the_same_file_whatever_has_changed_since(fetch, ticket, owner_client):
    names = [("ticket-papers",), ("ticket-claim",), ("agreement-claim", 1)]
    first = [fetch(*name) for name in names]
    assert first[1] == first[2]
    set_up(name="Another Name", terms="New terms.", currency="USD")
    lies(Letter=["claim", "work", "agreement", "invoice", "receipt", "lists"], A7=["tags"])
    ticket.client.name = "Somebody Else"
    ticket.client.save()
    OperationFactory(price=9999)
    PhotoFactory(garment=ticket.garments.first())
    assert [fetch(*name) for name in names] == first
    assert StoredPaper.objects.count() == 1


def test_an_old_version_stays_printable_as_it_was_agreed(fetch, ticket, studio, owner):
    draft = draft_of(ticket)
    draft.garments[0].lines[0].unit_price = 5000
    before = fetch("agreement-claim", 1)
    actions.change(ticket=ticket, draft=draft, studio=studio, by=owner, reason="lace edge")
    assert fetch("agreement-claim", 1) == before
    text = papers.text(fetch("ticket-claim"))
    assert "Version 2, agreed" in text
    assert "replaces version 1: price €78.00 → €98.00 (lace edge)." in text
    assert fetch("agreement-claim", 2) == fetch("ticket-claim")


def test_a_version_that_was_never_printed_still_prints_what_was_agreed_then(
    fetch, ticket, studio, owner
):
    draft = draft_of(ticket)
    draft.garments[0].lines[0].unit_price = 5000
    actions.change(ticket=ticket, draft=draft, studio=studio, by=owner, reason="")
    set_up(name="Another Name")
    text = papers.text(fetch("agreement-claim", 1))
    assert "Total €78.00" in text
    assert "Larkfield Sewing Room" in text
    assert "Another Name" not in text


@pytest.mark.parametrize("name", ["ticket-papers", "ticket-claim", "ticket-roll"])
def test_a_helper_gets_the_claim_ticket_without_money(name, fetch, ticket, helper_client):
    without = papers.text(fetch(name, by=helper_client))
    assert StoredPaper.objects.count() == 0
    with_money = papers.text(fetch(name))
    for words in ("€78.00", "Deposit asked", "To pay", "Total"):
        assert words in with_money
        assert words not in without
    assert "€" not in without
    assert f"Claim ticket {ticket.number}" in without
    assert "Maeve Tuohy" in without


def test_a_helpers_version_tells_no_price_that_changed(fetch, ticket, studio, owner, helper_client):
    draft = draft_of(ticket)
    draft.garments[0].lines[0].unit_price = 5000
    actions.change(ticket=ticket, draft=draft, studio=studio, by=owner, reason="20 euro more")
    text = papers.text(fetch("ticket-claim", by=helper_client))
    assert "Version 2, agreed" in text
    assert "replaces version 1." in text
    assert "20 euro" not in text
    assert "98.00" not in text


def test_codes_lead_to_the_address_that_was_told(fetch, ticket, settings):
    settings.ADDRESS = "https://studio.larkfield.example"
    address = f"https://studio.larkfield.example/t/{ticket.number}/"
    assert papers.codes(fetch("ticket-tags")) == [[address]] * 2


def test_photographs_are_on_tag_and_work_sheet(fetch, ticket):
    first, second = ticket.garments.all()
    PhotoFactory(garment=first)
    PhotoFactory(garment=first)
    assert _photographs(fetch("ticket-tags")) == 1
    assert _photographs(fetch("ticket-work-sheet")) == 2
    assert second.photos.count() == 0


def test_a_photograph_whose_file_is_gone_stops_no_paper(fetch, ticket):
    photo = PhotoFactory(garment=ticket.garments.first())
    photo.file.storage.delete(photo.file.name)
    assert Photo.objects.count() == 1
    assert _photographs(fetch("ticket-work-sheet")) == 0


def _photographs(pdf: bytes) -> int:
    """JPEG pictures in the file; the code is of another kind."""
    return pdf.count(b"/DCTDecode")


@pytest.mark.parametrize("name", ["ticket-papers", "ticket-claim", "ticket-work-sheet"])
def test_a_number_that_was_never_given_has_no_paper(name, ticket, owner_client):
    assert owner_client.get(reverse(name, args=["26-9999"])).status_code == 404


def test_a_version_that_never_was_has_no_paper(ticket, owner_client):
    address = reverse("agreement-claim", args=[ticket.number, 2])
    assert owner_client.get(address).status_code == 404
