"""What is open on a ticket, alone and in a list, and what waits since when."""

from datetime import time, timedelta
from uuid import uuid4

import pytest
import time_machine

from jobs.billing import queries
from jobs.billing.actions import issue_invoice, record_payment
from jobs.tickets import actions as tickets
from jobs.tickets.models import State, Ticket
from studio.shop import clock
from tests.drafts import received, trousers
from tests.factories import ClientFactory, PaymentFactory, TicketFactory

pytestmark = pytest.mark.postgres

NOON = "2026-06-10 11:00Z"


@pytest.fixture
def made_ready(studio, owner):
    """A ready ticket of ``pieces`` trousers for a client of that name."""

    def making(name, pieces=1):
        garments = [trousers() for _ in range(pieces)]
        ticket = received(studio, owner, *garments, client=ClientFactory(name=name))
        tickets.tick_all(ticket=ticket, by=owner)
        return tickets.mark_ready(ticket=ticket, by=owner)

    return making


def test_a_list_and_a_page_agree_on_the_balance(db):
    """Paid, part paid, over paid, cancelled with and without money, and nothing at all."""
    for gross, state, amounts in [
        (2400, State.READY, [1000, 1400]),
        (2400, State.RECEIVED, [1000, -300]),
        (2400, State.COLLECTED, [3000]),
        (2400, State.CANCELLED, [1000]),
        (2400, State.CANCELLED, []),
        (0, State.READY, []),
    ]:
        ticket = TicketFactory(gross=gross, state=state)
        for amount in amounts:
            PaymentFactory(ticket=ticket, amount=amount)
    listed = list(queries.with_balances(Ticket.objects.order_by("pk")))
    assert [(row.paid, row.balance) for row in listed] == [
        (2400, 0), (700, 1700), (3000, -600), (1000, -1000), (0, 0), (0, 0),
    ]  # fmt: skip
    for row in listed:
        assert (row.paid, row.balance) == (queries.paid(row), queries.balance(row))
        money = queries.ticket_money(row)
        assert (money.paid, money.balance) == (row.paid, row.balance)


def test_sums_stay_whole_where_a_float_would_not(db):
    """Beyond 2**53 a float cannot hold every whole number (IEEE 754 binary64)."""
    ticket = TicketFactory(gross=2**53 + 3)
    for amount in (2**53, 1, 1):
        PaymentFactory(ticket=ticket, amount=amount)
    (row,) = queries.with_balances(Ticket.objects.all())
    assert (row.paid, row.balance) == (2**53 + 2, 1)
    assert isinstance(row.paid, int)


@pytest.mark.parametrize("count", [1, 3])
def test_balances_of_any_number_take_one_query(db, django_assert_num_queries, count):
    for _ in range(count):
        PaymentFactory(ticket=TicketFactory(gross=2400))
    with django_assert_num_queries(1):
        assert [row.balance for row in queries.with_balances(Ticket.objects.all())] == [0] * count


def test_ready_by_name_with_what_is_still_here(made_ready, owner):
    zoe, ann = made_ready("Zoë Quill"), made_ready("Ann Quill", pieces=3)
    gone = ann.garments.first()
    tickets.hand_over(ticket=ann, garments=[gone], tried_on=[], by=owner)
    TicketFactory(state=State.IN_WORK)
    assert [(row, row.here, row.balance) for row in queries.ready_tickets()] == [
        (ann, 2, 7200),
        (zoe, 1, 2400),
    ]


@pytest.mark.parametrize("days", [7, 30, 60, 90, 120])
def test_an_age_is_reached_at_local_midnight(made_ready, days):
    """Ready at 23:30 in Dublin, which is 22:30 UTC in summer: the day turns half an hour later."""
    with time_machine.travel("2026-06-10 22:30Z", tick=False):
        late = made_ready("Late")
        before = clock.local(clock.now()).date() + timedelta(days=days - 1)
    with time_machine.travel(clock.at(before, clock.local(late.ready_at).time()), tick=False):
        assert queries.age_in_days(late.ready_at) == days - 1
        assert not queries.uncollected(days).exists()
        assert queries.waiting_by_age()[days] == 0
    just_after = clock.at(before + timedelta(days=1), time())
    with time_machine.travel(just_after, tick=False):
        assert queries.age_in_days(late.ready_at) == days
        assert queries.uncollected(days).get() == late
        assert queries.waiting_by_age()[days] == 1


def test_the_age_counts_local_days_and_not_hours_over_the_change_of_clocks(made_ready):
    """Irish clocks go back on 25 October 2026: Directive 2000/84/EC, last Sunday of October."""
    with time_machine.travel("2026-10-24 23:30Z", tick=False):
        ticket = made_ready("Autumn")
        assert clock.today().isoformat() == "2026-10-25"
    with time_machine.travel("2026-10-31 23:59Z", tick=False):
        assert queries.age_in_days(ticket.ready_at) == 6
        assert not queries.uncollected(7).exists()
    with time_machine.travel("2026-11-01 00:00Z", tick=False):
        assert queries.age_in_days(ticket.ready_at) == 7
        assert queries.uncollected(7).get() == ticket


def test_uncollected_leaves_out_what_went_home_and_lists_the_oldest_first(made_ready, owner):
    with time_machine.travel("2026-01-05 10:00Z", tick=False):
        old = made_ready("Old")
        taken = made_ready("Taken")
        tickets.hand_over(ticket=taken, garments=taken.garments.all(), tried_on=[], by=owner)
    with time_machine.travel(NOON, tick=False):
        new = made_ready("New")
        assert list(queries.uncollected()) == [old, new]
        assert list(queries.uncollected(120)) == [old]
        assert queries.waiting_by_age() == {7: 1, 30: 1, 60: 1, 90: 1, 120: 1}


def test_owing_is_what_is_not_even_oldest_first(db):
    def owing(day, gross, paid, state=State.READY, **moments):
        moment = clock.at(clock.today() - timedelta(days=day), clock.local(clock.now()).time())
        ticket = TicketFactory(received_at=moment, gross=gross, state=state, **moments)
        PaymentFactory(ticket=ticket, amount=paid)
        return ticket

    owing(9, 2400, 2400)
    young = owing(1, 2400, 1000)
    back = owing(5, 2400, 1000, state=State.CANCELLED)
    gone = owing(90, 2400, 400, state=State.COLLECTED, collected_at=clock.now() - timedelta(days=8))
    assert list(queries.owing()) == [gone, back, young]
    assert queries.open_money() == queries.OpenMoney(
        in_work=0, ready=1400, gone=2000, to_give_back=1000, back=1
    )
    assert queries.open_money().owed == 3400


def test_money_of_a_ticket_whose_price_changed_after_its_invoice(studio, owner):
    ticket = received(studio, owner)
    invoice = issue_invoice(ticket=ticket, by=owner, studio=studio, form_key=uuid4())
    payment = record_payment(
        ticket=ticket, amount=500, method="cash", kind="deposit", by=owner, studio=studio,
        form_key=uuid4(),
    )  # fmt: skip
    money = queries.ticket_money(ticket)
    assert (money.standing, money.outdated) == (invoice, False)
    assert (money.owed, money.paid, money.balance) == (2400, 500, 1900)
    assert (money.payments, money.invoices) == ([payment], [invoice])
    ticket.gross = 3000
    assert queries.ticket_money(ticket).outdated is True
