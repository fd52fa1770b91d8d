"""The front page of the money room, the day-end sheet, and an invoice as it was issued."""

import re
from decimal import Decimal
from html import unescape
from uuid import uuid4

import pytest
import time_machine

from jobs.billing import actions
from jobs.billing.models import Invoice
from jobs.tickets.models import State, Ticket
from studio.shop import clock
from tests.drafts import gone, hem, issued, received, trousers
from tests.factories import ClientFactory
from tests.jobs.planning.pages import words
from tests.tables import cells

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
    cards = re.findall(r'class="big-number">€([\d.]+)<.*?<dl(.*?)</dl>', page, re.DOTALL)
    shown = {
        Decimal(total): [Decimal(row) for row in re.findall(r"<dd>€([\d.]+)", rows)]
        for total, rows in cards
    }
    assert all(sum(rows) == total for total, rows in shown.items())
    # Taken 17.00 this month, 7.00 of it today; 19.99 + 45.00 = 64.99 with tax were handed over,
    # which are 17.61 + 39.65 without; 24.00 + 19.99 were invoiced; 14.00 + 64.99 are open.
    assert sorted(shown) == [Decimal(total) for total in ("17", "78.99")]
    text = words(page)
    assert "Today: €7.00 1 payment" in text
    assert "Invoiced €43.99 = €38.76 without tax + €5.23 tax, on 2 papers" in text
    assert "Of that invoiced €17.61 Not invoiced €39.65 2 tickets, at the prices agreed" in text
    assert "To give back €7.00 , 1 ticket" in text


def test_columns_and_lengths_are_as_long_as_their_figures(
    owner_client, studio, owner, ticket, invoice, booking
):
    """The month's columns and the length of what is to pay, measured against their tables."""
    with time_machine.travel("2026-07-20 12:00Z", tick=False):
        actions.record_payment(ticket=ticket, amount=300, method="card", kind="part", **booking())
        gone(received(studio, owner, trousers(hem(unit_price=4500))))
        ready = received(studio, owner, trousers(hem(unit_price=900)))
        Ticket.objects.filter(pk=ready.pk).update(state=State.READY, ready_at=clock.now())
        response = owner_client.get("/money/")
    chart = response.context["chart"]
    assert len(chart.columns) == 31
    heights = [Decimal(block.height[:-1]) for block in chart.blocks]
    # 10.00 in cash on the 1st is the tallest, 3.00 by card on the 20th is three tenths of it.
    assert heights == [Decimal(100), Decimal(30)]
    assert [float(block.x[:-1]) for block in chart.blocks] == pytest.approx(
        [100 * 0.08 / 31, 100 * 19.08 / 31], abs=0.01
    )
    assert re.findall(r'<th scope="row"><a [^>]*day=([\d-]+)', response.text) == [
        "2026-07-01", "2026-07-20",
    ]  # fmt: skip
    assert cells(response) == [
        ["€0.00", "€10.00", "€0.00", "€10.00"], ["€3.00", "€0.00", "€0.00", "€3.00"],
    ]  # fmt: skip
    pieces = response.context["to_pay"].pieces
    # 24.00 - 13.00 = 11.00 in work, 9.00 on the rail, 45.00 handed over: 65.00 in all.
    assert [piece.width for piece in pieces] == ["16.92%", "13.85%", "69.23%"]
    assert response.context["open"].owed == 6500


def test_what_went_back_hangs_below_the_line(owner_client, studio, ticket, paid, booking):
    with time_machine.travel("2026-07-02 12:00Z", tick=False):
        actions.refund(ticket=ticket, amount=500, method="card", why="Kind", **booking())
        chart = owner_client.get("/money/").context["chart"]
    assert chart.line == "66.67%"
    assert [(block.y, block.height) for block in chart.blocks] == [
        ("0.00%", "66.67%"), ("66.67%", "33.33%"),
    ]  # fmt: skip


def test_who_has_it_at_home_unpaid_comes_to_its_total(
    owner_client, studio, owner, django_assert_num_queries
):
    """Eight are shown, the oldest first; the last row is the rest, so that the rows add up."""
    with time_machine.travel("2026-07-20 12:00Z", tick=False):
        for price in range(1, 12):
            gone(received(studio, owner, trousers(hem(unit_price=1000 + price))))
        owner_client.get("/money/")
        with django_assert_num_queries(14):
            response = owner_client.get("/money/")
    rows = re.findall(r'<b class="num">€([\d.]+)</b>', response.text)
    assert len(rows) == 9
    assert "3 more" in response.text
    assert sum(map(Decimal, rows)) == Decimal("110.66")
    assert "Handed over</dt><dd>€110.66" in response.text


def test_an_earlier_month_is_a_page_of_its_own(owner_client, paid):
    with time_machine.travel("2026-08-03 12:00Z", tick=False):
        july = owner_client.get("/money/?month=2026-07")
        august = owner_client.get("/money/?month=nonsense")
        to_come = owner_client.get("/money/?month=2031-01")
        long_ago = owner_client.get("/money/?month=0001-01")
    assert (july.context["month"].all.total, august.context["month"].all.total) == (1000, 0)
    assert july.context["span"].initial["to"].isoformat() == "2026-07-31"
    assert to_come.context["first"] == august.context["first"] == long_ago.context["first"]
    assert "nothing yet this month" in august.text
    assert "As a table" not in august.text


def test_a_studio_without_money_says_so(owner_client, studio):
    page = words(owner_client.get("/money/").text)
    assert "Nobody owes anything. The first payment shows here." in page
    assert "Count the cash" in page


def test_the_day_end_sheet(owner_client, paid, booking):
    with time_machine.travel(MORNING, tick=False):
        back = actions.reverse_payment(payment=paid, why="Twice", **booking())
    response = owner_client.get("/money/day-end/?day=2026-07-01")
    ticket, client = paid.ticket.number, "Zoë <b>Quill</b>"
    what = f"Reversal of {paid.number}: Twice"
    assert cells(response) == [
        ["Cash", "2", "€10.00", "€0.00", "-€10.00", "€0.00"],
        ["Card", "0", "€0.00", "€0.00", "€0.00", "€0.00"],
        ["Transfer", "0", "€0.00", "€0.00", "€0.00", "€0.00"],
        ["In all", "2", "€10.00", "€0.00", "-€10.00", "€0.00"],
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
    ]
    page = response.content.decode()
    # 24.00 = 21.15 + 2.85; 10.00 was paid before, 14.00 is to pay.
    assert "Without tax €21.15 Repairs 13.5 % €2.85 Total €24.00" in words(page)
    assert "To pay Zoë <b>Quill</b> · €14.00 of €24.00" in unescape(words(page))
    assert "Zoë &lt;b&gt;Quill&lt;/b&gt;" in page
    assert "Changed Since" not in page
    assert f"Paid before, {paid.number}" in words(page)
    assert f"/invoices/{invoice.number}/credit/" in page


@time_machine.travel(MORNING, tick=False)  # a clock behind the invoice would be asked about
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
