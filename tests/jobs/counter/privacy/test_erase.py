"""Erasing: looked for afterwards in every cell of every table and in every file."""

from pathlib import Path

import pytest
from django.db import connection

from clients.actions import MergeError, join_household, merge, unmerge
from clients.models import Client, Measured, Sheet
from clients.queries import find_clients
from jobs.billing.books import ledger
from jobs.billing.documents import invoice_paper
from jobs.billing.models import Invoice
from jobs.billing.sealed_book import prove
from jobs.counter.privacy.actions import EraseError, erase
from jobs.counter.privacy.belongings import ERASED_NAME
from jobs.tickets import actions as steps
from jobs.tickets.documents import TicketPapers
from jobs.tickets.documents.papers import AgreementState
from studio.shop import clock
from studio.shop.models import Entry
from tests import factories as f
from tests.drafts import paid, received
from tests.histories import sentences
from tests.jobs.counter.privacy import dump
from tests.jobs.counter.privacy.full_life import ADDRESS, PRINTED, TOLD

BOOKS = ("billing_invoice", "billing_payment")


@pytest.fixture
def erased(life, studio, owner, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        erase(client=life.client, studio=studio, by=owner)
    return life


def test_everything_told_is_stored_before(life):
    """So that not finding it afterwards means something."""
    words = {word for _, word in dump.where(TOLD.words())}
    assert words == set(TOLD.words())
    assert len(dump.files()) == 11


def test_no_word_is_left_in_any_table_but_the_books(erased):
    assert dump.where(TOLD.words(), but_for=BOOKS) == []
    assert {word for _, word in dump.where(TOLD.words())} <= PRINTED


def test_the_sealed_book_holds(erased):
    """The books keep their rows whole, and a seal holds no word of anybody."""
    proof = prove()
    assert (proof.sealed > 1, proof.flaws) == (True, [])


def test_digits_of_the_phone_are_gone_too(erased):
    assert dump.where(["0897776543", "0897771298", "0897774417"]) == []


def test_no_file_is_left_but_the_papers_of_the_books(erased):
    left = dump.files()
    assert set(left) == {erased.invoice.paper.file.name, erased.payment.paper.file.name}
    assert {word for word in TOLD.words() for text in left.values() if word in text} <= PRINTED


def test_the_books_are_the_same_to_the_byte(life, request):
    def books() -> list:
        papers = [row.paper.file.open("rb").read() for row in (life.invoice, life.payment)]
        texts = dump.tables()
        return [*papers, *(texts[name] for name in BOOKS)]

    before, rows = books(), ledger(clock.today(), clock.today())
    request.getfixturevalue("erased")
    assert books() == before
    assert ledger(clock.today(), clock.today()) == rows
    assert {row.client for row in rows} == {TOLD.name}


def test_an_invoice_never_printed_still_prints(life, studio, owner):
    """Its data are the books', not the client's."""
    Invoice.objects.filter(pk=life.invoice.pk).update(paper=None)
    erase(client=life.client, studio=studio, by=owner)
    invoice = Invoice.objects.get(pk=life.invoice.pk)
    paper = invoice_paper(invoice, studio=studio, address=ADDRESS)
    with paper.file.open("rb") as file:
        assert TOLD.name in dump.readable(file.read())


def test_the_ticket_stays_under_no_name(erased, studio):
    ticket = type(erased.ticket).objects.get(pk=erased.ticket.pk)
    assert ticket.client.name == ERASED_NAME
    assert (ticket.number, ticket.state, ticket.gross) == (
        erased.ticket.number, "collected", 5400,
    )  # fmt: skip
    lines = ticket.garments.get().lines.all()
    assert [(line.name, line.unit_price, line.minutes_each) for line in lines] == [
        ("Take in sides", 3000, 60),
        ("Hem", 2400, 30),
    ]
    assert sentences(ticket)[:2] == [
        "The client was erased.",
        "Handed over: A.",
    ]
    assert not Entry.objects.exclude(changes=[]).exists()


def test_papers_printed_now_name_nobody(erased, studio):
    agreement = erased.ticket.agreements.get(version=2)
    papers = TicketPapers(agreement, studio, ADDRESS)
    sheet = papers.sheet(AgreementState.of(agreement))
    printed = [
        papers.claim(),
        papers.press(papers.presses()[0]),
        papers.tags(),
        papers.work_sheet(),
        sheet,
    ]
    texts = [dump.readable(pdf) for pdf in printed]
    assert ERASED_NAME in texts[0]
    assert ERASED_NAME in texts[-1]
    assert [word for word in TOLD.words() for text in texts if word in text] == []
    assert "54.00" in texts[0]


@pytest.mark.postgres
def test_merged_entries_and_sheets_go_with_it(erased):
    assert list(Client.objects.values_list("name", flat=True)) == [ERASED_NAME] * 2
    assert not Client.objects.filter(erased_at=None).exists()
    assert not Sheet.objects.exists()
    assert not Measured.objects.exists()
    with pytest.raises(MergeError, match="erased"):
        unmerge(entry=Entry.objects.get(verb="client.merge"), by=f.UserFactory())


def test_the_client_is_not_found_nor_listed_nor_given_out(erased, owner_client):
    assert find_clients("erased") == []
    for typed in ("6543", "4417", "gorsewood"):
        assert find_clients(typed) == []
    for address in ("/clients/clients.csv", "/clients/clients.vcf"):
        assert "erased" not in owner_client.get(address).text.casefold()
    for address in ("/clients/", "/find/?q=erased", "/drop-off/clients/?q=erased"):
        assert f">{ERASED_NAME}<" not in owner_client.get(address).text
    assert owner_client.get(f"/clients/{erased.client.pk}/edit/").status_code == 404
    assert owner_client.get(f"/clients/{erased.client.pk}/merge/").status_code == 404
    chosen = owner_client.get("/drop-off/", {"client": erased.client.pk})
    assert ERASED_NAME not in chosen.text


def test_nothing_new_can_be_taken_in_under_it(erased, studio, owner):
    with pytest.raises(steps.TicketError, match="no longer in use"):
        received(studio, owner, client=Client.objects.get(pk=erased.client.pk))


def test_sent_twice_the_second_changes_nothing(erased, studio, owner):
    before = dump.tables()
    erase(client=erased.client, studio=studio, by=owner)
    assert dump.tables() == before


def test_who_is_left_of_the_household_stays_together(studio, owner, life):
    mother, aunt = f.ClientFactory(name="Nora"), f.ClientFactory(name="Olga")
    for member in (mother, aunt):
        join_household(client=member, other=life.client, by=owner)
    erase(client=life.client, studio=studio, by=owner)
    heads = dict(Client.objects.filter(erased_at=None).values_list("name", "household__name"))
    assert heads == {"Nora": None, "Olga": "Nora"}


def test_other_clients_keep_everything(studio, owner, life):
    other = received(studio, owner, client=f.ClientFactory(name="Nora Penhale"), note="hers alone")
    erase(client=life.client, studio=studio, by=owner)
    other.refresh_from_db()
    assert (other.client.name, other.note) == ("Nora Penhale", "hers alone")
    assert other.agreements.get().data["client"]["name"] == "Nora Penhale"


@pytest.mark.postgres
def test_an_undone_merge_tells_no_more_of_either(studio, owner):
    kept, gone = f.ClientFactory(), f.ClientFactory(name=TOLD.name)
    entry = merge(keep=kept, other=gone, by=owner, facts={"phone": TOLD.phone})
    unmerge(entry=entry, by=owner)
    erase(client=gone, studio=studio, by=owner)
    entries = Entry.objects.values_list("verb", "parameters", "changes").order_by("pk")
    assert list(entries) == [("client.merge", {}, []), ("history.undone", {}, [])]
    assert Client.objects.get(pk=kept.pk).erased_at is None


def test_an_open_ticket_and_open_money_stand_in_the_way(studio, owner):
    ticket = received(studio, owner)
    paid(studio, owner, ticket, amount=1000)
    with pytest.raises(EraseError) as refused:
        erase(client=ticket.client, studio=studio, by=owner)
    assert refused.value.reasons == [
        f"Ticket {ticket.number} is received: hand it over or cancel it first.",
        f"On ticket {ticket.number} €14.00 is still to pay.",
    ]
    steps.cancel(ticket=ticket, why="changed their mind", by=owner)
    with pytest.raises(EraseError) as refused:
        erase(client=ticket.client, studio=studio, by=owner)
    assert refused.value.reasons == [f"On ticket {ticket.number} €10.00 is still to be given back."]
    assert Client.objects.get(pk=ticket.client_id).erased_at is None


def test_a_merged_entry_is_not_erased_by_itself(life, studio, owner):
    with pytest.raises(EraseError, match="no longer an entry of its own"):
        erase(client=life.merged, studio=studio, by=owner)


@pytest.mark.django_db(transaction=True)
def test_nothing_is_left_in_the_free_parts_of_the_file(life, studio, owner):
    """SQLite's own file, byte for byte; PostgreSQL's vacuum is the server's business."""
    erase(client=life.client, studio=studio, by=owner)
    assert len(dump.files()) == 2
    assert dump.where(TOLD.words(), but_for=BOOKS) == []
    if connection.vendor == "sqlite":
        content = Path(connection.settings_dict["NAME"]).read_bytes()
        assert {word for word in TOLD.words() if word.encode() in content} <= PRINTED
