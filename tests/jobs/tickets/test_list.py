"""The list of all tickets: its numbers, and one order however it is sorted."""

import re

import pytest

from jobs.tickets.queries import ticket_list
from studio.shop import clock
from tests import factories


def test_pieces_are_those_still_on_the_ticket(studio):
    ticket = factories.TicketFactory()
    factories.GarmentFactory.create_batch(2, ticket=ticket)
    factories.GarmentFactory(ticket=ticket, removed_at=clock.now())
    factories.TicketFactory()
    assert [row.pieces for row in ticket_list().order_by("pk")] == [2, 0]


@pytest.mark.parametrize(
    "sort", [f"{way}{name}" for name in ("client", "pieces", "state", "promise_at", "received_at")
             for way in ("", "-")]
)  # fmt: skip
def test_no_ticket_stands_on_two_pages(owner_client, sort):
    """All sixty came in one moment from one client: only their own order tells them apart."""
    client, moment = factories.ClientFactory(), clock.now()
    tickets = factories.TicketFactory.create_batch(60, client=client, received_at=moment)
    shown = []
    for page in (1, 2, 3):
        text = owner_client.get("/tickets/", {"sort": sort, "page": page}).text
        shown += re.findall(r'href="/t/(\d\d-\d{4})/"', text)
    assert sorted(shown) == sorted(ticket.number for ticket in tickets)
    assert shown in (sorted(shown), sorted(shown, reverse=True))
