"""The day-end sheet counts what should lie in the drawer."""

from datetime import date
from uuid import uuid4

import pytest
import time_machine

from jobs.billing.actions import (
    credit_invoice,
    issue_invoice,
    record_payment,
    refund,
    reverse_payment,
)
from jobs.billing.queries import Invoiced, invoiced_between, taken_between, taken_on
from studio.shop import clock
from tests.drafts import hem, issued, received, trousers
from tests.jobs.planning.pages import words

DAY = date(2026, 7, 1)


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner)


@pytest.fixture
def book(studio, owner, ticket):
    """``book(amount, method)`` at a moment; the facts are dull."""

    def booking(amount, method="cash"):
        return record_payment(
            ticket=ticket, amount=amount, method=method, kind="part", by=owner, studio=studio,
            form_key=uuid4(),
        )  # fmt: skip

    return booking


def test_a_day_by_method(studio, owner, ticket, book):
    with time_machine.travel("2026-07-01 12:00Z", tick=False):
        cash, card = book(1000), book(700, "card")
        book(300, "transfer")
        wrong = book(50)
        reverse_payment(payment=wrong, why="Twice", by=owner, studio=studio, form_key=uuid4())
        refund(
            ticket=ticket, amount=200, method="card", why="Kindness", by=owner, studio=studio,
            form_key=uuid4(),
        )  # fmt: skip
    takings = taken_on(DAY)
    assert [(m.label, m.taken, m.given_back, m.reversed, m.total) for m in takings.methods] == [
        ("Cash", 1050, 0, -50, 1000),
        ("Card", 700, -200, 0, 500),
        ("Transfer", 300, 0, 0, 300),
    ]
    assert (takings.all.taken, takings.all.total) == (2050, 1800)
    assert takings.all.total == sum(method.total for method in takings.methods)
    assert takings.payments[:2] == [cash, card]
    assert len(takings.payments) == 6


def test_the_day_is_the_studios_local_one(book):
    """Half past eleven at night UTC is already the next day in Dublin's summer."""
    with time_machine.travel("2026-06-30 22:59Z", tick=False):
        before = book(100)
    with time_machine.travel("2026-06-30 23:01Z", tick=False):
        after = book(200)
    assert taken_on(date(2026, 6, 30)).payments == [before]
    assert taken_on(DAY).payments == [after]
    assert taken_between(date(2026, 6, 30), DAY).all.total == 300


def test_the_sheet_follows_the_studio_not_the_machine(studio, book):
    studio.time_zone = "Pacific/Auckland"
    clock.activate(studio)
    with time_machine.travel("2026-06-30 12:30Z", tick=False):
        book(100)
    assert taken_on(DAY).all.total == 100


def test_an_empty_day(studio):
    takings = taken_on(DAY)
    assert takings.payments == []
    assert [method.total for method in takings.methods] == [0, 0, 0]
    assert invoiced_between(DAY, DAY) == Invoiced(0, 0, 0, 0)


def test_what_was_invoiced_less_what_was_credited(studio, owner, ticket):
    """24.00 with 13.5 % inside is 21.15 net: 2400 / 1.135 = 2114.5."""
    with time_machine.travel("2026-07-01 12:00Z", tick=False):
        who = {"by": owner, "studio": studio}
        first = issue_invoice(ticket=ticket, form_key=uuid4(), **who)
        assert invoiced_between(DAY, DAY) == Invoiced(1, 2115, 285, 2400)
        credit_invoice(invoice=first, why="Wrong", form_key=uuid4(), **who)
    assert invoiced_between(DAY, DAY) == Invoiced(2, 0, 0, 0, credited=2400)


def test_a_credit_of_an_invoice_of_before_is_told(studio, owner, owner_client, ticket):
    """24.00 were invoiced in June; in July that is credited and 10.00 are invoiced: -14.00."""
    who = {"by": owner, "studio": studio}
    with time_machine.travel("2026-06-30 12:00Z", tick=False):
        first = issue_invoice(ticket=ticket, form_key=uuid4(), **who)
    with time_machine.travel("2026-07-01 12:00Z", tick=False):
        credit_invoice(invoice=first, why="Wrong", form_key=uuid4(), **who)
        issued(studio, owner, received(studio, owner, trousers(hem(unit_price=1000))))
        page = words(owner_client.get("/money/").text)
    invoiced = invoiced_between(DAY, DAY)
    assert (invoiced.gross, invoiced.credited, invoiced.of_before) == (-1400, 2400, 2400)
    assert (
        "Invoiced €10.00 , credited €24.00 ( €24.00 of it for invoices of earlier months): "
        "-€14.00 =" in page
    )


@pytest.mark.parametrize("count", [1, 3])
def test_a_day_of_any_length_takes_one_query(book, django_assert_num_queries, count):
    for _ in range(count):
        book(100)
    with django_assert_num_queries(1):
        takings = taken_on(clock.today())
        assert [p.ticket.client.name and p.taken_by.username for p in takings.payments]
