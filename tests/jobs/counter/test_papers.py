"""Claim ticket, slip and agreement tell what was asked, what was paid and what is to pay.

The sums are by hand. That a paper says when it was printed, and that one printed after a payment is
another issue, is common practice of bookkeeping.
"""

from datetime import UTC, datetime
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from jobs.billing.actions import refund, reverse_payment
from jobs.planning.models import Fitting
from jobs.tickets import actions
from jobs.tickets.actions.agree import draft_of
from jobs.tickets.models import Agreement, AgreementSheet
from tests import papers
from tests.drafts import paid, received, trousers
from tests.factories import FittingFactory

PAPERS = ["ticket-papers", "ticket-claim", "ticket-roll", "agreement-paper"]
THURSDAY = datetime(2026, 3, 5, 15, 30, tzinfo=UTC)
ONCE = ["ticket-papers", "ticket-claim", "agreement-paper"]


@pytest.fixture
def time():
    with time_machine.travel("2026-03-02 10:00Z", tick=False) as traveller:
        yield traveller


@pytest.fixture
def ticket(time, studio, owner):
    """A hem at 24.00, for which 10.00 are asked at drop-off."""
    return received(studio, owner, trousers(), deposit=1000)


@pytest.fixture
def fetch(owner_client, ticket):
    def get(name: str, version: int = 1) -> bytes:
        more = [version] if name.startswith("agreement") else []
        with papers.no_complaints():
            return owner_client.get(reverse(name, args=[ticket.number, *more])).content

    return get


@pytest.mark.parametrize("name", PAPERS)
def test_a_deposit_that_was_asked_is_not_paid(fetch, name):
    text = papers.text(fetch(name))
    assert "Deposit asked €10.00 To pay €24.00" in text
    assert "Paid" not in text
    assert "Printed Mon 2 Mar 2026, 10:00" in text


@pytest.mark.parametrize("name", PAPERS)
def test_what_was_paid_stands_with_its_day_way_and_receipt(fetch, name, ticket, studio, owner):
    """24.00 less 12.50, which is more than was asked, leaves 11.50."""
    payment = paid(studio, owner, ticket, amount=1250)
    told = f"Paid Mon 2 Mar 2026, cash, {payment.number} €12.50 To pay €11.50"
    assert f"Deposit asked €10.00 {told}" in papers.text(fetch(name))


@pytest.mark.parametrize("name", ONCE)
def test_a_print_after_a_payment_is_another_issue(fetch, name, ticket, studio, owner, time):
    first = fetch(name)
    time.move_to("2026-03-03 09:30Z")
    assert fetch(name) == first
    payment = paid(studio, owner, ticket, amount=1000)
    second = papers.text(fetch(name))
    assert "Printed Tue 3 Mar 2026, 09:30" in second
    assert f"{payment.number} €10.00 To pay €14.00" in second
    assert fetch(name) != first
    assert AgreementSheet.objects.exclude(paper=None).count() == 2


def test_what_was_agreed_stays_frozen_in_the_second_issue(fetch, ticket, studio, owner):
    studio.name = "Another Name"
    studio.save()
    paid(studio, owner, ticket, amount=1000)
    text = papers.text(fetch("ticket-claim"))
    assert "Larkfield Sewing Room" in text
    assert "Another Name" not in text


def test_what_was_reversed_is_not_paid_and_a_refund_is_given_back(fetch, ticket, studio, owner):
    """24.00 less 20.00 and plus 5.00 given back leaves 9.00."""
    booking = {"studio": studio, "by": owner}
    wrong = paid(studio, owner, ticket, amount=2400)
    assert "To pay €0.00" in papers.text(fetch("ticket-claim"))
    reverse_payment(payment=wrong, why="wrong ticket", form_key=uuid4(), **booking)
    assert "Deposit asked €10.00 To pay €24.00" in papers.text(fetch("ticket-claim"))
    right = paid(studio, owner, ticket, amount=2000)
    back = {"amount": 500, "method": "cash", "why": "cheaper", "form_key": uuid4()}
    given = refund(ticket=ticket, **back, **booking)
    text = papers.text(fetch("ticket-claim"))
    assert f"{right.number} €20.00 Given back Mon 2 Mar 2026, cash, {given.number} -€5.00" in text
    assert "To pay €9.00" in text
    assert wrong.number not in text


def test_more_paid_than_the_work_costs_now_is_to_give_back(fetch, ticket, studio, owner):
    """24.00 were paid, the work costs 15.00 now: 9.00 are to give back."""
    paid(studio, owner, ticket, amount=2400)
    draft = draft_of(ticket)
    draft.garments[0].lines[0].unit_price = 1500
    actions.change(ticket=ticket, draft=draft, studio=studio, by=owner, reason="")
    assert "To give back €9.00" in papers.text(fetch("ticket-claim"))


def test_a_version_that_was_replaced_tells_what_was_paid_until_then(
    fetch, ticket, studio, owner, time
):
    paid(studio, owner, ticket, amount=1000)
    time.move_to("2026-03-03 09:30Z")
    draft = draft_of(ticket)
    draft.garments[0].lines[0].unit_price = 3000
    actions.change(ticket=ticket, draft=draft, studio=studio, by=owner, reason="")
    paid(studio, owner, ticket, amount=500)
    old, new = papers.text(fetch("agreement-claim")), papers.text(fetch("ticket-claim"))
    assert "To pay €14.00" in old
    assert "Replaced by a later version on Tue 3 Mar 2026, 09:30" in old
    assert "To pay €15.00" in new
    assert "Replaced by a later version" not in new


@pytest.mark.parametrize("name", PAPERS)
def test_a_fitting_stands_with_its_day_and_time(fetch, name, ticket, time):
    assert "fitting" not in papers.text(fetch(name))
    booked = FittingFactory(ticket=ticket, starts_at=THURSDAY)
    assert "First fitting Thu 5 Mar 2026, 15:30" in papers.text(fetch(name))
    booked.state = Fitting.State.KEPT
    booked.save()
    assert "First fitting" not in papers.text(fetch(name))


def test_a_helper_sees_the_fitting_and_no_money(ticket, studio, owner, helper_client):
    paid(studio, owner, ticket, amount=1000)
    FittingFactory(ticket=ticket, starts_at=THURSDAY)
    for name in ("ticket-claim", "ticket-roll", "ticket-papers"):
        text = papers.text(helper_client.get(reverse(name, args=[ticket.number])).content)
        assert "First fitting Thu 5 Mar 2026, 15:30" in text
        for words in ("€", "Paid", "To pay", "Deposit"):
            assert words not in text


def test_what_was_stored_before_papers_had_issues_is_still_there(fetch, ticket):
    fetch("ticket-claim")
    sheet = AgreementSheet.objects.exclude(paper=None).get()
    Agreement.objects.update(paper=sheet.paper)
    sheet.delete()
    fetch("ticket-claim")
    assert Agreement.objects.get().paper.file.storage.exists(
        Agreement.objects.get().paper.file.name
    )


def clock_at(words: str):
    from datetime import UTC, datetime

    return datetime.fromisoformat(words).replace(tzinfo=UTC)
