"""The money card of a ticket and the steps it leads to."""

from uuid import uuid4

import pytest

from jobs.billing.actions import issue_invoice, record_payment
from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import balance, paid, ticket_money
from jobs.tickets.actions import cancel
from studio.shop import clock
from tests.drafts import received


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner)


@pytest.fixture
def pay(studio, owner, ticket):
    def paying(amount):
        return record_payment(
            ticket=ticket, amount=amount, method="cash", kind="part", by=owner, studio=studio,
            form_key=uuid4(),
        )  # fmt: skip

    return paying


def send(client, address, **data):
    """What the page sends, and the page it leads to."""
    response = client.post(address, {"form_key": uuid4()} | data, follow=True)
    return response, response.content.decode()


def test_the_card_shows_what_is_open(owner_client, ticket, pay):
    payment = pay(1000)
    page = owner_client.get(f"/t/{ticket.number}/").content.decode()
    assert "€14.00" in page
    assert 'value="14.00"' in page
    assert f"/receipts/{payment.number}/" in page


def test_a_payment_is_taken(owner_client, ticket):
    response, page = send(
        owner_client, f"/t/{ticket.number}/pay/", amount="14,00", method="card", note="in person"
    )
    payment = Payment.objects.get()
    assert response.redirect_chain == [(f"/t/{ticket.number}/#money", 302)]
    assert "€14.00 paid." in page
    assert f'href="/t/{ticket.number}/payments/{payment.number}/reverse/">Reverse</a>' in page
    assert (payment.amount, payment.method, payment.kind) == (1400, "card", "deposit")
    assert payment.note == "in person"
    assert f'<a href="/receipts/{payment.number}/">Receipt {payment.number}</a>' in page


def test_a_double_click_on_take_payment_books_once(owner_client, ticket):
    key = uuid4()
    for _ in range(2):
        send(owner_client, f"/t/{ticket.number}/pay/", amount="10", method="cash", form_key=key)
    assert paid(ticket) == 1000


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"amount": "", "method": "cash"}, "This field is required."),
        ({"amount": "ten", "method": "cash"}, "Write an amount in EUR"),
        ({"amount": "-5", "method": "cash"}, "This amount cannot be negative."),
        ({"amount": "0", "method": "cash"}, "Write an amount above zero."),
        ({"amount": "24.01", "method": "cash"}, "That is more than is open: €24.00."),
        ({"amount": "1.005", "method": "cash"}, "EUR is written with at most 2 decimals."),
        ({"amount": "9" * 30, "method": "cash"}, "This amount is too large."),
        ({"amount": "17.35"}, "Say whether it is cash, card or transfer."),
        ({"amount": "17.35", "method": "shells"}, "not one of the available choices"),
        ({"amount": "17.35", "method": "cash", "form_key": "x"}, "This page is too old."),
        ({"amount": "17.35", "method": "cash", "note": "x" * 201}, "at most 200 characters"),
    ],
)
def test_a_wrong_payment_says_why_and_keeps_what_was_typed(owner_client, ticket, typed, wrong):
    response, page = send(owner_client, f"/t/{ticket.number}/pay/", **typed)
    assert response.redirect_chain == []
    assert wrong in page
    assert not Payment.objects.exists()
    assert f'value="{typed["amount"]}"' in page or not typed["amount"]


def test_money_is_given_back(owner_client, owner, ticket, pay):
    pay(1000)
    cancel(ticket=ticket, why="Sold", by=owner)
    asked = owner_client.get(f"/t/{ticket.number}/give-back/").content.decode()
    assert 'value="10.00"' in asked
    send(owner_client, f"/t/{ticket.number}/give-back/", amount="10", method="card", note="Sold")
    ticket.refresh_from_db()
    assert balance(ticket) == 0


def test_nothing_is_given_back_without_a_reason(owner_client, ticket, pay):
    pay(1000)
    _, page = send(owner_client, f"/t/{ticket.number}/give-back/", amount="10", method="card")
    assert "This field is required." in page
    _, page = send(
        owner_client, f"/t/{ticket.number}/give-back/", amount="10.01", method="card", note="x"
    )
    assert "That is more than was paid: €10.00." in page
    assert paid(ticket) == 1000


def test_a_payment_is_reversed_with_a_reason(owner_client, ticket, pay):
    payment = pay(1000)
    address = f"/t/{ticket.number}/payments/{payment.number}/reverse/"
    _, page = send(owner_client, address, why="")
    assert "This field is required." in page
    assert paid(ticket) == 1000
    _, page = send(owner_client, address, why="Typed twice")
    assert paid(ticket) == 0
    assert f"Reversal of {payment.number}, €10.00, cash" in page
    _, page = send(owner_client, address, why="Again")
    assert f"{payment.number} was reversed already" in page


def test_a_payment_of_another_ticket_is_not_reversed_here(owner_client, owner, studio, pay):
    payment, other = pay(1000), received(studio, owner)
    address = f"/t/{other.number}/payments/{payment.number}/reverse/"
    assert owner_client.post(address, {"why": "x", "form_key": uuid4()}).status_code == 404
    assert Payment.objects.count() == 1


def test_an_invoice_is_issued_once(owner_client, ticket):
    key = uuid4()
    for _ in range(2):
        response, _ = send(owner_client, f"/t/{ticket.number}/invoice/", form_key=key)
    invoice = Invoice.objects.get()
    assert response.redirect_chain == [(f"/invoices/{invoice.number}/", 302)]
    _, page = send(owner_client, f"/t/{ticket.number}/invoice/")
    assert f"Invoice {invoice.number} stands." in page
    assert Invoice.objects.count() == 1


def test_an_old_page_issues_nothing(owner_client, ticket):
    _, page = send(owner_client, f"/t/{ticket.number}/invoice/", form_key="")
    assert "This page is too old. Open it afresh." in page
    assert not Invoice.objects.exists()


def test_the_card_warns_when_the_invoice_says_something_else(owner_client, owner, studio, ticket):
    invoice = issue_invoice(ticket=ticket, by=owner, studio=studio, form_key=uuid4())
    page = owner_client.get(f"/t/{ticket.number}/").content.decode()
    assert "Credit it, then issue the next." not in page
    ticket.gross = 3000
    ticket.save(update_fields=["gross"])
    page = owner_client.get(f"/t/{ticket.number}/").content.decode()
    assert f"{invoice.number}</a> says €24.00. Credit it, then issue the next." in page


def test_a_helper_sees_no_money_on_the_ticket(helper_client, ticket, pay):
    payment = pay(1000)
    page = helper_client.get(f"/t/{ticket.number}/").content.decode()
    assert ticket.client.name in page
    for secret in ("10.00", "14.00", "24.00", payment.number):
        assert secret not in page


@pytest.mark.parametrize("count", [1, 3])
def test_the_card_takes_as_many_queries_for_three_payments_as_for_one(
    ticket, pay, django_assert_num_queries, count
):
    for _ in range(count):
        pay(100)
    with django_assert_num_queries(2):
        money = ticket_money(ticket)
        assert [payment.taken_by.shown_name for payment in money.payments] == ["Owner"] * count


def test_the_receipt_number_of_the_year(pay):
    assert pay(100).number == f"R{clock.today():%y}-0001"
