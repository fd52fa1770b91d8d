"""The front page of the money room, the day-end sheet, and an invoice as it was issued."""

import re
from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine

from jobs.billing import actions
from jobs.billing.models import Invoice
from jobs.tickets.models import State
from tests.drafts import gone, hem, issued, received, trousers
from tests.factories import ClientFactory
from tests.tables import cells

pytestmark = pytest.mark.postgres

HEM = "A \N{MIDDLE DOT} trousers, navy: Hem, take off 4.5 cm, total"
MORNING = "2026-07-01 08:30Z"


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner, client=ClientFactory(name="Zoë <b>Quill</b>"))


@pytest.fixture
def booking(studio, owner):
    return lambda: {"by": owner, "studio": studio, "form_key": uuid4()}


@pytest.fixture
def paid(ticket, booking):
    """10.00 in cash on the morning of 1 July, half past nine in Dublin."""
    with time_machine.travel(MORNING, tick=False):
        return actions.record_payment(
            ticket=ticket, amount=1000, method="cash", kind="deposit", **booking()
        )


@pytest.fixture
def invoice(ticket, paid, booking):
    with time_machine.travel(MORNING, tick=False):
        return actions.issue_invoice(ticket=ticket, **booking())


def test_the_front_page_tells_the_month(owner_client, invoice):
    with time_machine.travel("2026-07-20 12:00Z", tick=False):
        response = owner_client.get("/money/")
    assert response.context["today"].all.total == 0
    assert response.context["month"].all.total == 1000
    assert response.context["invoiced"].gross == 2400
    assert response.context["open"].owed == 1400
    page = response.content.decode()
    for amount in ("€10.00", "€24.00", "€21.15", "€2.85", "€14.00"):
        assert amount in page
    assert 'value="2026-07-01"' in page
    assert 'value="2026-07-20"' in page


def test_the_rows_of_each_card_come_to_its_total(owner_client, studio, owner, invoice, booking):
    """Paid by cash and card, handed over and not, invoiced and not, and money to give back."""
    with time_machine.travel("2026-07-20 12:00Z", tick=False):
        issued(studio, owner, gone(received(studio, owner, trousers(hem(unit_price=1999)))))
        gone(received(studio, owner, trousers(hem(unit_price=4500))))
        over = received(studio, owner, trousers(hem(unit_price=700)))
        actions.record_payment(ticket=over, amount=700, method="card", kind="part", **booking())
        over.state = State.CANCELLED
        over.save()
        page = owner_client.get("/money/").content.decode()
    cards = re.findall(r'class="big-number">€([\d.]+)</p>.*?<dl(.*?)</dl>', page, re.DOTALL)
    shown = {
        Decimal(total): [Decimal(row) for row in re.findall(r"<dd>€([\d.]+)", rows)]
        for total, rows in cards
    }
    assert all(sum(rows) == total for total, rows in shown.items())
    # Taken 7.00 today and 17.00 this month; 19.99 + 45.00 = 64.99 with tax were handed over, which
    # are 17.61 + 39.65 without; 24.00 + 19.99 were invoiced; 14.00 + 64.99 are open.
    assert sorted(shown) == [Decimal(total) for total in ("7", "17", "43.99", "57.26", "78.99")]
    assert 'to give back: <span class="figure">€7.00</span>' in page


def test_the_day_end_sheet(owner_client, paid, booking):
    with time_machine.travel(MORNING, tick=False):
        back = actions.reverse_payment(payment=paid, why="Twice", **booking())
    response = owner_client.get("/money/day-end/?day=2026-07-01")
    ticket, client = paid.ticket.number, "Zoë <b>Quill</b>"
    what = f"Reversal of {paid.number}: Twice"
    assert cells(response) == [
        ["Cash", "€10.00", "€0.00", "-€10.00", "€0.00"],
        ["Card", "€0.00", "€0.00", "€0.00", "€0.00"],
        ["Transfer", "€0.00", "€0.00", "€0.00", "€0.00"],
        ["In all", "€10.00", "€0.00", "-€10.00", "€0.00"],
        ["09:30", paid.number, ticket, client, "Deposit paid", "Cash", "Owner", "€10.00"],
        ["09:30", back.number, ticket, client, what, "Cash", "Owner", "-€10.00"],
    ]


def test_the_sheet_is_of_today_unless_another_day_is_asked_for(owner_client, paid):
    with time_machine.travel("2026-07-01 22:30Z", tick=False):
        assert owner_client.get("/money/day-end/").context["takings"].payments == [paid]
    with time_machine.travel("2026-07-01 23:30Z", tick=False):
        assert owner_client.get("/money/day-end/").context["takings"].payments == []


def test_a_day_that_is_none_is_asked_again(owner_client):
    response = owner_client.get("/money/day-end/?day=31-31")
    assert "Enter a valid date." in response.content.decode()
    assert cells(response) == []


def test_an_invoice_shows_what_was_issued(owner_client, invoice, ticket, paid):
    ticket.client.name = "Changed Since"
    ticket.client.save()
    response = owner_client.get(f"/invoices/{invoice.number.lower()}/")
    assert cells(response) == [
        [
            "A \N{MIDDLE DOT} trousers, navy: Hem, take off 4.5 cm, total",
            "1",
            "€24.00",
            "13.5 %",
            "€24.00",
        ],
        ["Repairs 13.5 %", "€21.15", "€2.85", "€24.00"],
    ]
    page = response.content.decode()
    assert "Zoë &lt;b&gt;Quill&lt;/b&gt;" in page
    assert "Changed Since" not in page
    assert f"Paid before, {paid.number}" in page
    assert f"/invoices/{invoice.number}/credit/" in page


def test_an_invoice_is_taken_back_with_a_reason(owner_client, invoice):
    address = f"/invoices/{invoice.number}/credit/"
    page = owner_client.post(address, {"why": " ", "form_key": uuid4()}).content.decode()
    assert "This field is required." in page
    key = uuid4()
    for _ in range(2):
        response = owner_client.post(address, {"why": "Wrong name", "form_key": key}, follow=True)
    note = Invoice.objects.get(kind="credit")
    assert response.redirect_chain == [(f"/invoices/{note.number}/", 302)]
    assert "Wrong name" in response.content.decode()
    assert cells(response)[0][1:] == ["-1", "€24.00", "13.5 %", "-€24.00"]
    old = owner_client.get(f"/invoices/{invoice.number}/").content.decode()
    assert f'by credit note <a href="/invoices/{note.number}/">' in old
    assert address not in old
    again = owner_client.post(address, {"why": "Again", "form_key": uuid4()}).content.decode()
    assert f"{invoice.number} was credited already, by {note.number}." in again


def test_an_unknown_invoice_is_not_found(owner_client):
    assert owner_client.get("/invoices/I26-9999/").status_code == 404


@pytest.mark.parametrize("count", [1, 3])
def test_an_invoice_of_three_lines_takes_as_many_queries_as_of_one(
    owner_client, studio, owner, booking, django_assert_num_queries, count
):
    made = received(studio, owner, *[trousers() for _ in range(count)])
    invoice = actions.issue_invoice(ticket=made, **booking())
    with django_assert_num_queries(6):
        owner_client.get(f"/invoices/{invoice.number}/")
