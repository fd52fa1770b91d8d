"""Four hands take the same money and bill the same tickets at the same moment."""

from collections import Counter

import pytest
from django.db import connection, transaction

from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import with_balances
from jobs.billing.sealed_book import prove
from jobs.tickets.models import Ticket
from tests.drafts import received
from tests.jobs.billing import paying
from tests.studio.shop import rush_hour
from tests.studio.shop.rush_hour import EACH, WORKERS, Job


@pytest.fixture
def crowd(transactional_db, studio, owner, tmp_path):
    """Tickets of 24.00, and four workers who all go through them."""
    with transaction.atomic():
        client = received(studio, owner).client
        for _ in range(EACH - 1):
            received(studio, owner, client=client)

    def work(way) -> Counter:
        jobs = [
            Job(
                way=f"{way.__module__}:{way.__name__}",
                key="",
                database=str(connection.settings_dict["NAME"]),
                folder=str(tmp_path),
                worker=worker,
            )
            for worker in range(WORKERS)
        ]
        answers = rush_hour.by_threads(jobs)
        return Counter(word for answer in answers for word in answer.split())

    return work


def balances() -> set[int]:
    return {ticket.balance for ticket in with_balances(Ticket.objects.all())}


def test_every_ticket_is_paid_once_and_invoiced_once(crowd):
    late = 2 * EACH * (WORKERS - 1)
    assert crowd(paying.guarded) == {"paid": EACH, "invoiced": EACH, "late": late}
    assert (Payment.objects.count(), Invoice.objects.count()) == (EACH, EACH)
    assert balances() == {0}
    proof = prove()
    assert (proof.sealed, proof.flaws) == (2 * EACH, [])


def test_without_the_lock_every_ticket_is_paid_four_times(crowd):
    assert crowd(paying.unguarded) == {"paid": EACH * WORKERS}
    assert balances() == {2400 - WORKERS * 2400}
