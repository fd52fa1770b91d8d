"""The page on which single lines are credited: ticks, sums before anything is booked, what it says
afterwards. The sums are reckoned in ``test_line_credits``.
"""

import re
from uuid import uuid4

import pytest
from django.urls import reverse

from jobs.billing.actions import credit_lines, record_payment
from jobs.billing.models import Invoice, Payment
from tests.drafts import hem, issued, received, take_in, trousers
from tests.jobs.planning.pages import words


@pytest.fixture
def invoice(studio, owner):
    """42.50 and 50.00 at 13.5 %, paid by card: 81.50 + 11.00 = 92.50."""
    lines = take_in(name="Zip", unit_price=4250), hem(name="Hem, lined", unit_price=5000)
    ticket = received(studio, owner, trousers(*lines))
    record_payment(
        ticket=ticket, amount=9250, method="card", kind="balance", by=owner, studio=studio,
        form_key=uuid4(),
    )  # fmt: skip
    return issued(studio, owner, ticket)


def address(invoice):
    return reverse("invoice-credit-lines", args=[invoice.number])


def sent(**fields):
    return {"form_key": uuid4(), "why": "Let down again", "how": "card"} | fields


def sums(page):
    """What the credit note would say, as it is read."""
    return words(page.text.split('id="credit-lines"')[1].split("</form>")[0])


def ticks(page):
    return re.findall(r'type="checkbox" name="(\w+)"', page.text)


@pytest.mark.postgres
def test_ticks_are_summed_before_anything_is_booked(owner_client, invoice):
    page = owner_client.get(address(invoice))
    assert ticks(page) == ["line_0", "line_1"]
    assert page.context["form"].way == "card"
    page = owner_client.get(address(invoice), {"line_1": "on", "how": "cash"})
    assert 'name="amount_1" value="50.00"' in page.text
    assert "44.05" in sums(page)
    assert "5.95" in sums(page)
    assert "Stays invoiced: €42.50" in sums(page)
    assert "€50.00 back in cash" in words(page.text)
    assert "Error: " not in page.text
    assert not Invoice.objects.filter(kind="credit").exists()


def test_a_sum_that_was_not_seen_is_shown_first(owner_client, invoice):
    fields = sent(line_1="on", amount_1="20")
    page = owner_client.post(address(invoice), fields)
    assert "Look at the sums" in page.text
    saw = page.context["form"]["saw"].value()
    assert (saw, Invoice.objects.count()) == (2000, 1)
    answer = owner_client.post(address(invoice), fields | {"saw": saw}, follow=True)
    note = Invoice.objects.get(kind="credit")
    assert (note.gross, Payment.objects.get(kind="refund").amount) == (-2000, -2000)
    assert answer.request["PATH_INFO"] == note.get_absolute_url()
    assert f"€20.00 of {invoice.number} credited by {note.number}." in words(answer.text)


def test_no_script_is_needed_to_calculate(owner_client, invoice):
    page = owner_client.post(address(invoice), sent(line_0="on", why="", intent="sum"))
    assert "37.44" in sums(page)  # 42.50 x 100 / 113.5 = 37.4449
    assert "aria-invalid" not in page.text


@pytest.mark.parametrize(
    ("fields", "wrong"),
    [({"line_1": "on", "amount_1": "50.01"}, "Only €50.00 is left of it."),
     ({"line_1": "on", "amount_1": "0"}, "Write an amount above zero."),
     ({"line_1": "on", "amount_1": "some"}, "Write an amount in EUR"),
     ({}, "Tick what is credited."),
     ({"line_1": "on", "why": ""}, "This field is required.")],
)  # fmt: skip
def test_what_cannot_be_credited_is_said(owner_client, invoice, fields, wrong):
    page = owner_client.post(address(invoice), sent(**{"saw": "5000"} | fields))
    assert wrong in words(page.text)
    assert Invoice.objects.count() == 1


def test_what_was_credited_before_is_left_out(owner_client, studio, owner, invoice):
    note = credit_lines(
        invoice=invoice, amounts={0: 4250, 1: 2000}, why="Torn", give_back="", by=owner,
        studio=studio, form_key=uuid4(),
    )  # fmt: skip
    page = owner_client.get(address(invoice))
    assert ticks(page) == ["line_1"]
    assert "€20.00 of €50.00 credited before" in words(page.text)
    page = words(owner_client.get(invoice.get_absolute_url()).text)
    assert f"Credited since, {note.number} -€62.50" in page
    assert "To give back" in page
    ticket = words(owner_client.get(invoice.ticket.get_absolute_url()).text)
    assert f"Credited, {note.number} -€62.50" in ticket
    back = owner_client.get(reverse("invoice-credit", args=[invoice.number]))
    assert "the rest of invoice" in words(back.text)
    assert "€30.00" in words(back.text)


@pytest.mark.parametrize("lines", [1, 3])
def test_a_page_of_any_length_takes_seven_queries(
    owner_client, studio, owner, lines, django_assert_num_queries
):
    ticket = received(studio, owner, trousers(*(hem() for _ in range(lines))))
    invoice = issued(studio, owner, ticket)
    owner_client.get(address(invoice))
    with django_assert_num_queries(7):
        owner_client.get(address(invoice), {"line_0": "on"})
