"""Mr Hale's trousers are invoiced, the invoice is taken back and issued anew."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine

from jobs.billing.actions import (
    BillingError,
    credit_invoice,
    issue_invoice,
    record_payment,
    reverse_payment,
)
from jobs.billing.documents import charge_rows
from jobs.billing.models import Invoice
from jobs.billing.queries import open_invoice
from jobs.tickets import actions as tickets
from jobs.tickets.models import Ticket
from studio.shop import clock
from tests.drafts import draft, hem, received, take_in, trousers
from tests.factories import ClientFactory
from tests.histories import sentences

STANDARD = {"name": "Standard", "percent": "23", "exempt": False, "sentence": ""}
EXEMPT = {"name": "Exempt", "percent": "0", "exempt": True, "sentence": "Exempt from VAT."}


@pytest.fixture
def hale(db):
    return ClientFactory(
        name="Piet Hale", street="12 Quay Street", postcode="Y21", city="Larkfield",
        country="IE", tax_number="IE1111111X",
    )  # fmt: skip


@pytest.fixture
def ticket(studio, owner, hale):
    """Worn trousers to hem and take in, and new ones to hem, at two rates."""
    worn = trousers(hem(quantity=3), take_in())
    new = trousers(hem(tax=STANDARD, note="matching thread"), colour="grey", worn="new")
    return received(studio, owner, worn, new, client=hale)


@pytest.fixture
def issue(studio, owner, ticket):
    def issuing(form_key=None, of=None):
        return issue_invoice(
            ticket=of or ticket, by=owner, studio=studio, form_key=form_key or uuid4()
        )

    return issuing


@pytest.fixture
def credit(studio, owner):
    def crediting(invoice, why="Wrong address", form_key=None):
        key = form_key or uuid4()
        return credit_invoice(invoice=invoice, why=why, by=owner, studio=studio, form_key=key)

    return crediting


@time_machine.travel("2026-03-02 10:00Z", tick=False)
def test_invoices_and_credit_notes_share_one_series(issue, credit):
    first = issue()
    numbers = [first.number, credit(first).number, issue().number]
    assert numbers == ["I26-0001", "I26-0002", "I26-0003"]


@time_machine.travel("2026-03-02 10:00Z", tick=False)
def test_the_contents_of_a_full_invoice(issue, ticket, studio, hale, owner):
    """Directive 2006/112/EC, Article 226, by its numbers, and what else is printed.

    Source: legislation.gov.uk, text of the directive, Article 226 (1)-(10). The same facts are
    asked for by regulation 14(1) of the UK's VAT Regulations 1995 (SI 1995/2518).
    """
    studio.invoice_sentence = "Registered in Ireland."
    paid = record_payment(
        ticket=ticket, amount=2000, method="card", kind="deposit", by=owner, studio=studio,
        form_key=uuid4(),
    )  # fmt: skip
    data = issue().data
    assert data["issued_on"] == "2026-03-02"  # (1) the date of issue
    assert data["number"] == "I26-0001"  # (2) a sequential number that identifies it
    assert data["studio"]["tax_number"] == "IE0000000X"  # (3) the supplier's VAT number
    assert data["client"]["tax_number"] == "IE1111111X"  # (4) the customer's, where there is one
    assert data["studio"]["name"] == "Larkfield Sewing Room"  # (5) full names and addresses
    assert data["studio"]["address_lines"] == ["3 Mill Lane", "X00 XX00 Larkfield"]
    assert data["client"]["name"] == "Piet Hale"
    assert data["client"]["address_lines"] == ["12 Quay Street", "Y21 Larkfield"]
    assert [  # (6) the quantity and nature of the services
        (line["garment"], line["name"], line["amount"], line["quantity"]) for line in data["lines"]
    ] == [
        ("A \N{MIDDLE DOT} trousers, navy", "Take in sides", "take off 4.5 cm, total", 1),
        ("A \N{MIDDLE DOT} trousers, navy", "Hem", "take off 4.5 cm, total", 3),
        ("B \N{MIDDLE DOT} trousers, grey", "Hem", "take off 4.5 cm, total", 1),
    ]
    promised = clock.local(ticket.promise_at).date()  # (7) the date of supply
    assert data["supply_on"] == promised.isoformat()
    assert [  # (8) per rate the taxable amount, (9) the rate, (10) the tax payable
        (rate["percent"], rate["net"], rate["tax"], rate["gross"]) for rate in data["rates"]
    ] == [("23", 1951, 449, 2400), ("13.5", 8987, 1213, 10200)]
    # (8) the unit price exclusive of VAT: 3000 / 1.135 = 2643.2, 2400 / 1.135 = 2114.5 and
    # 2400 / 1.23 = 1951.2. One of 2643 and three of 2115 are 8988, the odd cent is rounding.
    rows = [(row.name[-8:], row.pieces, row.unit, row.amount) for row in charge_rows(data)]
    assert rows == [
        ("m, total", 1, 2643, 2643), ("m, total", 3, 2115, 6345), ("m, total", 1, 1951, 1951),
        ("Rounding", None, None, -1),
    ]  # fmt: skip
    assert data["studio"]["invoice_sentence"] == "Registered in Ireland."
    assert (data["net"], data["tax"], data["gross"]) == (10938, 1662, 12600)
    assert data["paid"] == [
        {"number": paid.number, "day": "2026-03-02", "method": "card", "amount": 2000}
    ]
    assert (data["paid_total"], data["balance"]) == (2000, 10600)
    assert data["pay_by"] == "2026-03-16"
    assert (data["kind"], data["refers_to"], data["reason"]) == ("invoice", None, "")


def test_the_contents_of_a_simplified_invoice_are_among_them(issue):
    """SI 1995/2518, regulation 16A (consideration of 250 pounds or less): supplier's name, address
    and number, the time of supply, a description, the total with VAT, and for each rate the gross
    amount and the rate. Directive 2006/112/EC, Article 226b asks for less."""
    data = issue().data
    assert {"name", "address_lines", "tax_number"} <= data["studio"].keys()
    assert data["supply_on"]
    assert all(line["name"] for line in data["lines"])
    assert sum(rate["gross"] for rate in data["rates"]) == data["gross"]
    assert all(rate["percent"] for rate in data["rates"])


def test_every_sum_adds_up(studio, owner, hale, issue):
    """An exempt line and a discount as well: per line, per rate and in total, net + tax = gross."""
    many = received(
        studio, owner, trousers(hem(unit_price=1999), take_in(tax=EXEMPT), hem(tax=STANDARD)),
        client=hale, discount_percent=Decimal("7.5"), rush_percent=Decimal(25),
    )  # fmt: skip
    data = issue(of=many).data
    charges = data["lines"] + data["adjustments"]
    for part in [*charges, *data["rates"], data]:
        assert part["net"] + part["tax"] == part["gross"]
    for key in ("net", "tax", "gross"):
        assert sum(charge[key] for charge in charges) == data[key]
        assert sum(rate[key] for rate in data["rates"]) == data[key]
    assert [rate["sentence"] for rate in data["rates"] if rate["exempt"]] == ["Exempt from VAT."]
    assert len(data["rates"]) == 3


@pytest.mark.parametrize(
    ("moment", "zone", "day"),
    [
        ("2026-06-30 23:30Z", "Europe/Dublin", "2026-07-01"),
        ("2026-07-01 03:30Z", "America/New_York", "2026-06-30"),
        ("2026-12-31 11:00Z", "Pacific/Auckland", "2027-01-01"),
    ],
)
def test_the_day_of_issue_is_the_studios_own(studio, issue, moment, zone, day):
    studio.time_zone = zone
    clock.activate(studio)
    with time_machine.travel(moment, tick=False):
        invoice = issue()
    assert (invoice.issued_on.isoformat(), invoice.data["issued_on"]) == (day, day)
    assert invoice.number == f"I{day[2:4]}-0001"


def test_the_day_of_supply_is_the_day_of_collection(ticket, issue, owner):
    tickets.tick_all(ticket=ticket, by=owner)
    pieces = list(ticket.garments.all())
    with time_machine.travel("2026-06-30 23:30Z", tick=False):
        tickets.hand_over(ticket=ticket, garments=pieces, tried_on=[], by=owner)
    with time_machine.travel("2026-07-03 10:00Z", tick=False):
        invoice = issue()
    assert invoice.supply_on.isoformat() == "2026-07-01"
    assert invoice.issued_on.isoformat() == "2026-07-03"
    assert not invoice.data["to_come"]


def test_before_the_work_is_done_the_promised_day_is_said_to_be_to_come(
    ticket, issue, credit, owner
):
    """Article 226 (7) asks for the day on which the supply *was made*: nothing was, as yet."""
    promised = clock.local(ticket.promise_at).date()
    invoice = issue()
    assert (invoice.supply_on, invoice.data["to_come"]) == (promised, True)
    with time_machine.travel(ticket.promise_at + timedelta(days=3), tick=False):
        credit(invoice)
        late = issue()
        assert (late.supply_on, late.data["to_come"]) == (clock.today(), True)
        credit(late)
        tickets.tick_all(ticket=ticket, by=owner)
        tickets.mark_ready(ticket=ticket, by=owner)
        sewn = issue()
    assert (sewn.supply_on, sewn.data["to_come"]) == (sewn.issued_on, False)


def test_a_paid_invoice_names_no_day_to_pay_by(ticket, issue, owner, studio):
    record_payment(
        ticket=ticket, amount=12600, method="cash", kind="balance", by=owner, studio=studio,
        form_key=uuid4(),
    )  # fmt: skip
    invoice = issue()
    assert invoice.data["balance"] == 0
    assert invoice.pay_by is None


def test_a_reversed_payment_is_not_listed_as_paid(ticket, issue, owner, studio):
    first, second = (
        record_payment(
            ticket=ticket, amount=1000, method="cash", kind="deposit", by=owner, studio=studio,
            form_key=uuid4(),
        )
        for _ in range(2)
    )  # fmt: skip
    reverse_payment(payment=first, why="Twice", by=owner, studio=studio, form_key=uuid4())
    data = issue().data
    assert [paid["number"] for paid in data["paid"]] == [second.number]
    assert data["paid_total"] == 1000


def test_a_double_click_issues_once(ticket, issue):
    key = uuid4()
    assert issue(key) == issue(key)
    assert ticket.invoices.count() == 1


def test_a_second_invoice_is_refused_while_one_stands(issue):
    first = issue()
    with pytest.raises(BillingError, match=f"Invoice {first.number} stands"):
        issue()


def test_a_form_issues_no_second_invoice_after_the_first_was_credited(issue, credit):
    key = uuid4()
    credit(issue(key))
    with pytest.raises(BillingError, match="Start afresh"):
        issue(key)


def test_a_cancelled_ticket_is_not_invoiced(ticket, issue, owner):
    tickets.cancel(ticket=ticket, why="Sold them", by=owner)
    with pytest.raises(BillingError, match="cancelled"):
        issue()


def test_changing_address_price_or_name_changes_no_invoice(ticket, issue, studio, hale):
    before = issue().data
    hale.name, hale.street = "Someone Else", "Elsewhere"
    hale.save()
    studio.name = "Other Room"
    studio.save()
    Ticket.objects.filter(pk=ticket.pk).update(gross=1)
    assert Invoice.objects.get().data == before
    assert before["client"]["name"] == "Piet Hale"


def test_a_credit_note_mirrors_its_invoice(issue, credit):
    """Article 226b(e): it refers to the initial invoice and names what is amended."""
    invoice = issue()
    note = credit(invoice, "Wrong address")
    assert (note.kind, note.refers_to, note.ticket) == ("credit", invoice, invoice.ticket)
    assert note.data["refers_to"] == {
        "number": invoice.number,
        "issued_on": invoice.issued_on.isoformat(),
    }
    assert note.data["reason"] == "Wrong address"
    assert (note.net, note.tax, note.gross) == (-invoice.net, -invoice.tax, -invoice.gross)
    for part in ("lines", "adjustments", "rates"):
        for old, new in zip(invoice.data[part], note.data[part], strict=True):
            for key in ("net", "tax", "gross"):
                assert new[key] == -old[key]
    billed, credited = charge_rows(invoice.data), charge_rows(note.data)
    assert [row.amount for row in credited] == [-row.amount for row in billed]
    assert [row.unit for row in credited] == [row.unit for row in billed]
    for old, new in zip(invoice.data["lines"], note.data["lines"], strict=True):
        assert sum(step["amount"] for step in new["steps"]) == new["price"] == -old["price"]
        assert (new["name"], new["quantity"]) == (old["name"], old["quantity"])
    assert Invoice.objects.get(pk=invoice.pk).data == invoice.data


def test_an_invoice_is_credited_once(issue, credit):
    invoice, key = issue(), uuid4()
    note = credit(invoice, form_key=key)
    assert credit(invoice, form_key=key) == note
    with pytest.raises(BillingError, match=f"credited already, by {note.number}"):
        credit(invoice)
    with pytest.raises(BillingError, match="a credit note itself"):
        credit(note)


def test_a_credit_note_says_why(issue, credit):
    with pytest.raises(BillingError, match="Say why"):
        credit(issue(), "  ")


def test_after_a_credit_note_the_changed_ticket_is_invoiced_anew(
    ticket, issue, credit, studio, owner
):
    first = issue()
    assert open_invoice(ticket) == first
    credit(first)
    assert open_invoice(ticket) is None
    tickets.change(
        ticket=ticket, draft=draft(promise_at=clock.now() + timedelta(days=3)), studio=studio,
        by=owner, reason="Only the hem",
    )  # fmt: skip
    second = issue()
    assert second.gross == 2400
    assert open_invoice(ticket) == second


def test_a_payment_after_the_invoice_names_it(ticket, issue, owner, studio):
    invoice = issue()
    payment = record_payment(
        ticket=ticket, amount=500, method="cash", kind="part", by=owner, studio=studio,
        form_key=uuid4(),
    )  # fmt: skip
    assert (payment.invoice, payment.data["invoice"]) == (invoice, invoice.number)


def test_the_history_tells_it(ticket, issue, credit):
    invoice = issue()
    note = credit(invoice)
    history = sentences(ticket, money=True)[::-1]
    assert history == [
        f"Invoice {invoice.number} issued.",
        f"Credit note {note.number} for {invoice.number}: Wrong address.",
    ]
