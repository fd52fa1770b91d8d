"""Several hands at once make nobody twice, and lose nobody."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from clients import actions
from clients.desk import actions as desk
from clients.models import Client
from studio.shop.models import Entry
from tests.clients.desk import on, read
from tests.factories import ClientFactory, TicketFactory, UserFactory

HANDS = 4
pytestmark = pytest.mark.django_db(transaction=True)


def at_once(acts: list[Callable[[], object]]) -> list[object]:
    """The answer of each act, or what it raised; all start together, each on its own connection."""
    start = Barrier(len(acts))

    def do(act: Callable[[], object]) -> object:
        try:
            start.wait()
            return act()
        except (actions.AlikeError, actions.MergeError) as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as hands:
        return list(hands.map(do, acts))


def test_one_new_client_sent_by_all_is_made_once():
    by = UserFactory()
    for number in range(5):
        facts = {"name": f"Mary {number}", "phone": ""}
        answers = at_once([lambda facts=facts: actions.add_client(facts=facts, by=by)] * HANDS)
        assert sum(isinstance(answer, Client) for answer in answers) == 1
        assert sum(isinstance(answer, actions.AlikeError) for answer in answers) == HANDS - 1
    assert Client.objects.count() == 5


def test_one_file_taken_in_many_windows_is_taken_once():
    by = UserFactory()
    file = read("name\n" + "".join(f"Mary {line}\n" for line in range(28)), by)
    desk.start_taking(file=file)
    at_once([lambda: on(file, by)] * HANDS)
    assert desk.counts(file) == {"added": 28, "changed": 0, "left": 0, "wrong": 0}
    assert Client.objects.count() == 28


def test_two_entries_merged_into_each_other_at_once_leave_one():
    by = UserFactory()
    for _ in range(5):
        pair = ClientFactory(), ClientFactory()
        tickets = {TicketFactory(client=client).pk for client in pair}
        ways = [pair, pair[::-1]]
        answers = at_once(
            [
                lambda keep=keep, other=other: actions.merge(
                    keep=keep, other=other, by=by, facts={}
                )
                for keep, other in ways
            ]
        )
        kept = next(
            keep
            for (keep, _), answer in zip(ways, answers, strict=True)
            if isinstance(answer, Entry)
        )
        assert sum(isinstance(answer, actions.MergeError) for answer in answers) == 1
        assert {ticket.pk for ticket in kept.tickets.all()} == tickets
