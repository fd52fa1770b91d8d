"""Invoice, credit note and receipt on paper, held to Directive 2006/112/EC, Article 226."""

from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from jobs.billing.actions import IncompleteError, credit_invoice, refund, reverse_payment
from jobs.billing.models import Payment
from jobs.tickets.actions import change
from jobs.tickets.actions.agree import draft_of
from studio.shop.models import Profile, StoredPaper
from studio.shop.paper import PAGES
from tests import papers, proofreading
from tests.drafts import hem, issued, paid, received, take_in, trousers
from tests.factories import ClientFactory
from tests.thorough import thinned

NEW = {"name": "Standard", "percent": "23", "exempt": False, "sentence": ""}
EXEMPT = {
    "name": "Training",
    "percent": "0",
    "exempt": True,
    "sentence": "Exempt: invented rule 7.",
}
SENTENCE = "An invented sentence that an invented law asks for."


@pytest.fixture(autouse=True)
def _monday():
    with time_machine.travel("2026-03-02 10:00Z", tick=False):
        yield


@pytest.fixture
def ticket(studio, owner):
    Profile.objects.update(invoice_sentence=SENTENCE)
    studio.refresh_from_db()
    return received(
        studio,
        owner,
        trousers(hem(quantity=2, unit_price=1200), take_in(tax=EXEMPT)),
        trousers(hem(unit_price=1230, tax=NEW), kind_name="Skirt", colour=""),
        client=ClientFactory(
            name="Maeve Tuohy", street="12 Quay Street", postcode="X00 AB12", city="Larkfield",
            country="PT", tax_number="PT000000000",
        ),
    )  # fmt: skip


@pytest.fixture
def fetch(owner_client):
    def get(name: str, number: str) -> bytes:
        with papers.no_complaints():
            response = owner_client.get(reverse(name, args=[number]))
        assert response.status_code == 200
        assert response.headers["Content-Type"] == "application/pdf"
        return response.content

    return get


@pytest.fixture
def booking(studio, owner):
    return {"studio": studio, "by": owner, "form_key": uuid4()}


def test_an_invoice_has_what_article_226_asks_for(fetch, ticket, studio, owner):
    deposit = paid(studio, owner, ticket, amount=1000)
    invoice = issued(studio, owner, ticket)
    text = papers.text(fetch("invoice-paper", invoice.number))
    for point, words in [
        ("(1) date of issue", "Issued Mon 2 Mar 2026"),
        ("(2) sequential number", f"Invoice {invoice.number}"),
        ("(3) the supplier's number", "VAT number IE0000000X"),
        ("(4) the customer's number", "VAT number PT000000000"),
        ("(5) the supplier's name and address", "Room Wren Larkfield 3 Mill Lane, X00 XX00"),
        ("(5) across a border, the country", "Larkfield, Ireland"),
        ("(5) the customer's", "To Maeve Tuohy 12 Quay Street X00 AB12 Larkfield Portugal"),
        ("(6) extent and nature", "A \N{MIDDLE DOT} trousers, navy: Hem, take off 4.5 cm, total 2"),
        ("(7) date of supply", "To be supplied Mon 9 Mar 2026"),
        # 12.00 at 13.5 % is 10.57 without tax (12 / 1.135 = 10.572...), two are 21.14; the rate
        # comes to 24 / 1.135 = 21.145..., so a cent is rounding.
        ("(8) unit price without tax, (9) rate", "2 €10.57 13.5 % €21.14"),
        ("(8) the odd cent in a row of its own", "Rounding 13.5 % €0.01"),
        ("(8) taxable amount per rate, (10) tax", "Repairs 13.5 % on €21.15 €2.85"),
        # 12.30 gross at 23 % is 10.00 without tax.
        ("(8) (10) of the other rate", "Standard 23 % on €10.00 €2.30"),
        ("(8) and of what is exempt", "Training exempt on €30.00 €0.00"),
        ("(11) why it is exempt", "Training: Exempt: invented rule 7."),
        ("the studio's own sentence", SENTENCE),
        ("the sums", "Without tax €61.15 Standard"),
        ("the sums", "Tax €5.15 Total €66.30"),
        ("what was paid before", f"{deposit.number} €10.00 To pay €56.30"),
        ("when to pay", "Please pay €56.30 by Mon 16 Mar 2026."),
    ]:
        assert words in text, point


def test_a_private_client_reads_the_prices_that_were_agreed(fetch, ticket, studio, owner):
    """Whoever has no tax number deducts no tax: Article 226 is for taxable persons (Article 220).

    Two at 12.00 are 24.00, and the rows come to the total of 66.30; the tax within stands once for
    each rate, 24.00 x 13.5 / 113.5 = 2.85 and 12.30 x 23 / 123 = 2.30.
    """
    ticket.client.tax_number = ""
    ticket.client.save()
    text = papers.text(fetch("invoice-paper", issued(studio, owner, ticket).number))
    for words in (
        "Work Quantity Unit price with tax Tax Amount with tax",
        "total 2 €12.00 13.5 % €24.00",
        "total 1 €30.00 exempt €30.00",
        "total 1 €12.30 23 % €12.30",
        "Total €66.30 of which Standard 23 % on €10.00 €2.30 of which Repairs 13.5 % on €21.15",
        "€2.85 of which Training exempt on €30.00 €0.00 To pay €66.30",
    ):
        assert words in text
    assert "Rounding" not in text


def test_a_credit_note_names_the_invoice_it_amends(fetch, ticket, studio, owner, booking):
    """Article 219: a document that amends refers unambiguously to the initial invoice."""
    invoice = issued(studio, owner, ticket)
    credit = credit_invoice(invoice=invoice, why="wrong name", **booking)
    text = papers.text(fetch("invoice-paper", credit.number))
    assert f"Credit note {credit.number}" in text
    assert f"Credit note for invoice {invoice.number} of Mon 2 Mar 2026. Reason: wrong name" in text
    assert "Without tax -€61.15" in text
    assert "Tax -€5.15 Credited -€66.30" in text
    assert "To pay" not in text
    assert "Please pay" not in text
    assert SENTENCE not in text
    assert "total -2 €10.57 13.5 % -€21.14" in text
    assert "-€10.57" not in text


def test_a_receipt_says_what_was_taken(fetch, ticket, studio, owner):
    payment = paid(studio, owner, ticket, amount=2000)
    text = papers.text(fetch("receipt", payment.number))
    for words in (
        f"Receipt {payment.number}",
        "Received from Maeve Tuohy",
        f"Ticket {ticket.number}",
        "Mon 2 Mar 2026, 10:00",
        "Deposit paid, cash €20.00",
        "Total €66.30 Paid €20.00 To pay €46.30",
    ):
        assert words in text
    assert SENTENCE not in text


def test_a_credit_note_without_tax_says_why_there_is_none(fetch, studio, owner, booking):
    """Where no tax is charged, the sentence is the reason that Article 226, point 11, asks for."""
    Profile.objects.update(tax_mode="none", tax_number="", invoice_sentence=SENTENCE)
    studio.refresh_from_db()
    invoice = issued(studio, owner, received(studio, owner, trousers(hem(tax=None))))
    credit = credit_invoice(invoice=invoice, why="wrong name", **booking)
    assert SENTENCE in papers.text(fetch("invoice-paper", credit.number))


def test_money_given_back_is_said_to_be(fetch, ticket, studio, owner, booking):
    paid(studio, owner, ticket, amount=2000)
    payment = refund(ticket=ticket, amount=500, method="cash", why="cheaper", **booking)
    text = papers.text(fetch("receipt", payment.number))
    assert "Given back to Maeve Tuohy" in text
    assert "Refund, cash -€5.00" in text


def test_a_reversal_names_what_it_takes_back(fetch, ticket, studio, owner, booking):
    payment = paid(studio, owner, ticket, amount=2000)
    mirror = reverse_payment(payment=payment, why="wrong ticket", **booking)
    text = papers.text(fetch("receipt", mirror.number))
    assert f"This takes back receipt {payment.number}." in text
    assert "Paid €0.00" in text


def test_without_tax_there_are_no_tax_columns(fetch, studio, owner):
    Profile.objects.update(tax_mode="none", tax_number="", invoice_sentence="Small: rule 1.")
    studio.refresh_from_db()
    ticket = received(studio, owner, trousers(hem(tax=None)))
    text = papers.text(fetch("invoice-paper", issued(studio, owner, ticket).number))
    assert "Quantity Unit price Amount" in text
    assert "Total €24.00" in text
    assert "Tax" not in text
    assert "tax" not in text


def test_a_reprint_is_the_same_file_whatever_has_changed_since(fetch, ticket, studio, owner):
    invoice, payment = issued(studio, owner, ticket), paid(studio, owner, ticket)
    asked = [("invoice-paper", invoice.number), ("receipt", payment.number)]
    first = [fetch(*address) for address in asked]
    Profile.objects.update(name="Another Name", paper="Letter", invoice_sentence="Another.")
    ticket.client.name = "Somebody Else"
    ticket.client.street = "1 Other Street"
    ticket.client.save()
    assert [fetch(*address) for address in asked] == first
    assert StoredPaper.objects.count() == 2


def test_the_invoice_of_before_a_move_prints_the_old_address(fetch, ticket, studio, owner):
    invoice = issued(studio, owner, ticket)
    Profile.objects.update(street="99 New Road", tax_number="IE9999999X")
    text = papers.text(fetch("invoice-paper", invoice.number))
    assert "3 Mill Lane" in text
    assert "99 New Road" not in text
    assert "IE9999999X" not in text


@pytest.mark.parametrize(
    ("paper", "size"),
    thinned(
        [("A4", (210, 297)), ("Letter", (215.9, 279.4)), ("A5", (148, 210))],
        {("A5", (148, 210))}.__contains__,
    ),
)
def test_nothing_is_cut_off(fetch, studio, owner, booking, paper, size):
    Profile.objects.update(
        paper=paper, name="The " + "Long Name " * 11, street="Long Street " * 16,
        invoice_sentence="A sentence of the law. " * 40,
    )  # fmt: skip
    studio.refresh_from_db()
    lines = [
        hem(name=("press and hem the lining by hand " * 3)[:80], unit_price=123456 + line)
        for line in range(12)
    ]
    ticket = received(
        studio,
        owner,
        trousers(*lines, kind_name="W" * 60, colour="ivory " * 10),
        client=ClientFactory(
            name="Wilhelmina " * 18, street="W" * 200, city="Larkfield", country="PT"
        ),
    )
    payment, invoice = paid(studio, owner, ticket), issued(studio, owner, ticket)
    credit = credit_invoice(invoice=invoice, why="too long " * 20, **booking)
    address = f"http://testserver/t/{ticket.number}/"
    for name, number in [
        ("invoice-paper", invoice.number),
        ("invoice-paper", credit.number),
        ("receipt", payment.number),
    ]:
        pdf = fetch(name, number)
        assert set(papers.sizes(pdf)) == {size}
        assert papers.margins_broken(pdf, paper) == []
        assert papers.printed_over(pdf) == []
        assert papers.broken_figures(pdf) == []
        assert papers.codes(pdf)[0] == [address]
        assert proofreading.structure_faults(pdf, usual=True) == []
        assert papers.reader(pdf).metadata.title.endswith(number)
        text = "".join(papers.text(pdf).split())
        assert "W" * 200 in text
        sentences = 40 if number == invoice.number else 0
        assert text.count("Asentenceofthelaw.") == sentences


@pytest.mark.parametrize("currency", thinned(["EUR", "IQD"], {"IQD"}.__contains__))
def test_a_receipt_for_roll_and_card_holds_hard_texts(fetch, studio, owner, currency):
    """What Article 226b asks of a simplified invoice, points a to d: the day, who supplies, what,
    the tax. Codes are read back, and a paper is of the size that lies in the printer."""
    mode = "included" if currency == "EUR" else "added"
    Profile.objects.update(currency=currency, tax_mode=mode, name="W" * 40)
    studio.refresh_from_db()
    lines = [hem(name=f"{n} press and hem the lining", unit_price=9_999_999) for n in range(5)]
    client = ClientFactory(name="Wilhelmina " * 18)
    ticket = received(studio, owner, trousers(*lines, kind_name="W" * 60), client=client)
    payment = paid(studio, owner, ticket)
    for size in ("roll", "roll-58", "A6", "4x6"):
        Profile.objects.update(printers=[{"name": "P", "size": size, "papers": ["receipt"]}])
        Payment.objects.update(paper=None)
        pdf = fetch("receipt", payment.number)
        page = PAGES[size]
        assert {width for width, _ in papers.sizes(pdf)} == {page.width}
        assert papers.margins_broken(pdf, size) == []
        assert papers.printed_over(pdf) == []
        assert papers.broken_figures(pdf) == []
        assert papers.codes(pdf)[0] == [f"http://testserver/t/{ticket.number}/"]
        assert proofreading.structure_faults(pdf, usual=True) == []
        text = papers.text(pdf)
        for words in ("2 Mar", "W" * 10, "VAT number", "4 press and hem", "13.5 %", "Total"):
            assert words in text


@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_amounts_of_many_figures_stand_clear_of_each_other(fetch, studio, owner, paper):
    Profile.objects.update(paper=paper, currency="IQD", country="IQ", tax_mode="added")
    studio.refresh_from_db()
    lines = [hem(unit_price=10_000_000_000), hem(unit_price=9_999_999_999, tax=NEW)]
    invoice = issued(studio, owner, received(studio, owner, trousers(*lines)))
    pdf = fetch("invoice-paper", invoice.number)
    assert papers.margins_broken(pdf, paper) == []
    assert papers.printed_over(pdf) == []
    assert papers.broken_figures(pdf) == []
    assert "IQD 10,000,000.000" in papers.text(pdf)


@pytest.mark.parametrize("name", ["invoice-paper", "receipt"])
def test_a_number_that_was_never_given_has_no_paper(name, owner_client):
    assert owner_client.get(reverse(name, args=["X26-9999"])).status_code == 404


def test_a_helper_gets_neither(ticket, studio, owner, helper_client):
    asked = [
        ("invoice-paper", issued(studio, owner, ticket).number),
        ("receipt", paid(studio, owner, ticket).number),
    ]
    for name, number in asked:
        assert helper_client.get(reverse(name, args=[number])).status_code == 403
    assert StoredPaper.objects.count() == 0


OWED = {"name": "Abroad", "percent": "0", "exempt": True, "sentence": "Reverse charge, rule 9."}


def test_what_the_client_owes_the_tax_on_says_so_and_is_no_simplified_invoice(fetch, studio, owner):
    """Article 226 (4) and (11a): the client's number and the words; Article 220a (2), from memory:
    no simplified invoice. Without the number it is refused."""
    client = ClientFactory(street="12 Quay Street", city="Porto", country="PT")
    ticket = received(studio, owner, trousers(hem(tax=OWED)), client=client)
    with pytest.raises(IncompleteError, match="the client's VAT number is needed"):
        issued(studio, owner, ticket)
    client.vat_number = "PT000000000"
    client.save()
    ticket.client.refresh_from_db()
    invoice = issued(studio, owner, ticket)
    assert (invoice.data["form"], invoice.tax, invoice.gross) == ("full", 0, 2400)
    text = papers.text(fetch("invoice-paper", invoice.number))
    for words in (
        "VAT number IE0000000X",
        "VAT number PT000000000",
        "Reverse charge, rule 9.",
        "Abroad 0 % on €24.00 €0.00",
        "1 €24.00 0 % €24.00",
    ):
        assert words in text
    assert "Abroad: " not in text
    assert "exempt" not in text


def test_more_paid_than_invoiced_is_to_give_back(fetch, studio, owner, booking):
    """24.00 were paid, the work costs 15.00 now: 9.00 are to give back, on the invoice and on the
    receipt of what was given back in part, 2.00 of it: 7.00."""
    ticket = received(studio, owner, trousers())
    paid(studio, owner, ticket, amount=2400)
    draft = draft_of(ticket)
    draft.garments[0].lines[0].unit_price = 1500
    change(ticket=ticket, draft=draft, studio=studio, by=owner, reason="")
    invoice = issued(studio, owner, ticket)
    assert "To give back \u20ac9.00" in papers.text(fetch("invoice-paper", invoice.number))
    given = refund(ticket=ticket, amount=200, method="cash", why="cheaper", **booking)
    text = papers.text(fetch("receipt", given.number))
    assert "To give back \u20ac7.00" in text
    assert "To pay" not in text
