"""The first page: the counter's day at a glance."""

from datetime import timedelta

import pytest
import time_machine

from jobs.tickets.models import State
from studio.counter.queries import at_a_glance
from studio.shop import clock
from tests import factories


@pytest.fixture(autouse=True)
def _morning():
    with time_machine.travel("2026-11-27 09:00Z", tick=False):
        yield


def ticket(**facts):
    return factories.TicketFactory(received_at=clock.now() - timedelta(days=5), **facts)


def numbers(few) -> list[str]:
    return [one.number for one in few.tickets]


def test_each_ticket_stands_where_it_belongs(studio):
    now, day = clock.now(), timedelta(days=1)
    late = ticket(promise_at=now - day)
    later = ticket(promise_at=now + timedelta(hours=8))
    sooner = ticket(promise_at=now + timedelta(hours=2), state=State.IN_WORK)
    tomorrow = ticket(promise_at=now + day)
    ticket(promise_at=now + 2 * day)
    ready = ticket(promise_at=now, state=State.READY, ready_at=now)
    ticket(promise_at=now, state=State.COLLECTED)
    new = factories.TicketFactory(promise_at=now + 7 * day)
    factories.TicketFactory(promise_at=now, state=State.CANCELLED)

    glance = at_a_glance()

    assert numbers(glance.overdue) == [late.number]
    assert numbers(glance.due_today) == [sooner.number, later.number]
    assert numbers(glance.due_tomorrow) == [tomorrow.number]
    assert numbers(glance.ready) == [ready.number]
    assert numbers(glance.received) == [new.number]


def test_the_day_ends_at_the_studios_own_midnight(studio):
    # Half past eleven at night in Dublin and in UTC; half past midnight would be tomorrow.
    tonight = ticket(promise_at=clock.now().replace(hour=23, minute=30))
    ticket(promise_at=clock.now().replace(hour=0, minute=30) + timedelta(days=1))
    assert numbers(at_a_glance().due_today) == [tonight.number]

    studio.time_zone = "Pacific/Auckland"
    clock.activate(studio)
    assert numbers(at_a_glance().due_today) == []


def test_a_long_list_is_counted_and_shown_in_part(owner_client):
    for _ in range(8):
        ticket(state=State.READY, ready_at=clock.now())

    glance = at_a_glance()
    assert (glance.ready.count, len(glance.ready.tickets), glance.ready.more) == (8, 6, 2)
    assert "and 2 more" in owner_client.get("/").content.decode()


@pytest.mark.parametrize("each", [1, 3])
def test_the_page_asks_the_database_as_often_for_one_as_for_three(
    owner_client, each, django_assert_num_queries
):
    now = clock.now()
    for _ in range(each):
        ticket(promise_at=now - timedelta(days=1))
        ticket(promise_at=now + timedelta(hours=1))
        ticket(promise_at=now + timedelta(days=1))
        ticket(state=State.READY, ready_at=now)
        factories.TicketFactory(promise_at=now + timedelta(days=7))

    # The profile, the session, the user, and one for each of five lists.
    with django_assert_num_queries(11):
        owner_client.get("/")


def test_a_helper_sees_the_day_and_no_money(helper_client):
    one = ticket(promise_at=clock.now(), gross=98700)

    page = helper_client.get("/").content.decode()

    assert one.number in page
    assert "987" not in page
