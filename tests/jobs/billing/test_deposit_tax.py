"""Deposits with their tax, where the owner has it told.

Directive 2006/112/EC, Article 65: on money paid before the supply the tax is due when it is paid.
Whether that is so for such work here, local rules decide.
"""

from uuid import uuid4

import pytest
from django.urls import reverse

from jobs.billing.actions import refund, reverse_payment
from tests import papers
from tests.drafts import hem, issued, paid, received, take_in, trousers

NEW = {"name": "Standard", "percent": "23", "exempt": False, "sentence": ""}
EXEMPT = {"name": "Training", "percent": "0", "exempt": True, "sentence": "Rule 7."}


@pytest.fixture
def ticket(studio, owner):
    studio.deposit_tax = True
    studio.save()
    return received(studio, owner, trousers(hem(), hem(unit_price=1230, tax=NEW)))


def sums(payment):
    return [
        (rate["name"], rate["gross"], rate["net"], rate["tax"]) for rate in payment.data["rates"]
    ]


def test_a_deposit_tells_the_tax_inside_it_and_the_invoice_what_is_left(
    ticket, studio, owner, owner_client
):
    """10.00 of 36.30: 24.00 / 36.30 of it are 6.6116 and 12.30 / 36.30 are 3.3884, so 6.61 and
    3.39. 6.61 x 13.5 / 113.5 = 0.786, 3.39 x 23 / 123 = 0.634. The whole tax is 2.85 + 2.30."""
    payment = paid(studio, owner, ticket, amount=1000)
    assert sums(payment) == [("Standard", 339, 276, 63), ("Repairs", 661, 582, 79)]
    text = papers.text(owner_client.get(reverse("receipt", args=[payment.number])).content)
    assert (
        "Tax in it: Standard 23 % on €2.76 €0.63 Tax in it: Repairs 13.5 % on €5.82 €0.79" in text
    )
    invoice = issued(studio, owner, ticket)
    assert [row["tax"] for row in invoice.data["paid"]] == [142]
    text = papers.text(owner_client.get(reverse("invoice-paper", args=[invoice.number])).content)
    assert f"{payment.number}, of it tax €1.42 €10.00" in text
    assert "Tax in what was not paid before €3.73 To pay €26.30" in text
    # What is paid on the invoice has its tax there.
    assert sums(paid(studio, owner, ticket, amount=1000)) == []


def test_what_is_given_back_or_reversed_is_its_mirror(ticket, studio, owner):
    payment = paid(studio, owner, ticket, amount=1000)
    who = {"by": owner, "studio": studio}
    back = refund(ticket=ticket, amount=1000, method="cash", why="no", form_key=uuid4(), **who)
    mirrored = [("Standard", -339, -276, -63), ("Repairs", -661, -582, -79)]
    assert sums(back) == mirrored
    reverse_payment(payment=back, why="twice", form_key=uuid4(), **who)
    studio.deposit_tax = False  # what is reversed is mirrored, whatever holds by now
    assert sums(reverse_payment(payment=payment, why="wrong", form_key=uuid4(), **who)) == mirrored


def test_it_is_off_until_the_owner_turns_it_on_and_sums_up_to_the_amount(studio, owner):
    ticket = received(studio, owner, trousers(hem(), take_in(tax=EXEMPT)))
    assert sums(paid(studio, owner, ticket, amount=700)) == []
    studio.deposit_tax = True
    rates = paid(studio, owner, ticket, amount=701).data["rates"]
    assert sum(rate["gross"] for rate in rates) == 701
    assert [rate["tax"] for rate in rates if rate["exempt"]] == [0]
