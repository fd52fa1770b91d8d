"""Saves of one ticket that meet: real threads, each with a connection and a login of its own.

By hand: where one writes the event and the other the note, both stand afterwards; an invoice stands
for the sum of its ticket, whichever came first.
"""

import threading
import time
from collections.abc import Callable
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client as Browser

from jobs.billing.actions import issue_invoice
from jobs.billing.models import Invoice
from jobs.billing.queries import open_invoice
from jobs.counter.dropoff import save
from jobs.tickets import actions
from jobs.tickets.models import Ticket
from tests.conftest import logged_in
from tests.drafts import received
from tests.jobs.counter.html_form import Counter
from tests.studio.shop.rush_hour import at_once
from tests.thorough import rounds

ROUNDS = rounds(1, 3)


@pytest.fixture
def tickets(transactional_db, studio, owner):
    with transaction.atomic():
        first = received(studio, owner)
        return [first, *(received(studio, owner, client=first.client) for _ in range(ROUNDS - 1))]


def sender(browser: Browser, ticket: Ticket, **typed: str) -> Callable[[], int]:
    page = Counter(browser, f"/t/{ticket.number}/change/").type(**typed)
    sent = {**page.form.fields, "intent": ["save"]}
    return lambda: browser.post(page.form.action, sent).status_code


def test_two_saves_that_meet_are_both_kept(tickets, owner, helper):
    lost = []
    for ticket in tickets:
        codes = at_once(
            sender(logged_in(owner), ticket, event="the wedding"),
            sender(logged_in(helper), ticket, note="ring first"),
        )
        ticket.refresh_from_db()
        if codes != [302, 302] or (ticket.event, ticket.note) != ("the wedding", "ring first"):
            lost.append((codes, ticket.event, ticket.note))
    assert lost == []


def test_of_two_words_for_one_field_one_is_asked(tickets, owner, helper):
    for ticket in tickets:
        codes = at_once(
            sender(logged_in(owner), ticket, event="the wedding"),
            sender(logged_in(helper), ticket, event="the ball"),
        )
        ticket.refresh_from_db()
        said = {"the wedding": [302, 200], "the ball": [200, 302]}
        assert codes == said[ticket.event]


def test_an_invoice_stands_for_the_sum_of_its_ticket(tickets, studio, owner, monkeypatch):
    """It is issued at the worst moment: just when the change has seen that there is none."""
    seen = threading.Event()

    def look(ticket: Ticket) -> Invoice | None:
        invoice = open_invoice(ticket)
        seen.set()
        time.sleep(0.3)
        return invoice

    def bill(ticket: Ticket) -> None:
        seen.wait()
        issue_invoice(ticket=ticket, by=owner, studio=studio, form_key=uuid4())

    monkeypatch.setattr(save, "open_invoice", look)
    wrong = []
    for ticket in tickets:
        seen.clear()
        change = sender(logged_in(owner), ticket, g0_l0_price="99")
        at_once(change, lambda ticket=ticket: bill(ticket))
        ticket.refresh_from_db()
        invoice = Invoice.objects.get(ticket=ticket)
        if invoice.gross != ticket.gross:
            wrong.append((invoice.gross, ticket.gross))
    assert wrong == []


def test_a_promise_and_a_change_that_meet_are_both_kept(tickets, studio, owner):
    lost = []
    for ticket in tickets:
        day = ticket.promise_at + timedelta(days=7)
        change = sender(logged_in(owner), ticket, event="the wedding")

        def move(ticket=ticket, day=day) -> None:
            actions.move_promise(
                ticket=ticket, promise_at=day, studio=studio, by=owner, reason="later"
            )

        at_once(change, move)
        ticket.refresh_from_db()
        if (ticket.event, ticket.promise_at) != ("the wedding", day):
            lost.append((ticket.event, ticket.promise_at))
    assert lost == []
