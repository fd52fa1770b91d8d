"""The first page: the counter's day at a glance."""

from datetime import timedelta

import pytest
import time_machine

from jobs.tickets.models import State
from studio.shop import clock
from tests import factories


@pytest.fixture(autouse=True)
def _morning():
    with time_machine.travel("2026-11-27 09:00Z", tick=False):
        yield


def ticket(**facts):
    return factories.TicketFactory(received_at=clock.now() - timedelta(days=5), **facts)


def test_a_long_list_is_shown_in_part(owner_client):
    for _ in range(8):
        ticket(state=State.READY, ready_at=clock.now())
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

    # The profile, the session, the user; the book of work in eight.
    with django_assert_num_queries(11):
        owner_client.get("/")


def test_a_helper_sees_the_day_and_no_money(helper_client):
    one = ticket(promise_at=clock.now(), gross=98700)

    page = helper_client.get("/").content.decode()

    assert one.number in page
    assert "987.00" not in page
