"""Many invoices at once, by four processes; by threads see ``test_paying_at_once``."""

from collections import Counter
from copy import copy
from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.db import connection, transaction
from django.db.models.base import ModelState

from jobs.billing.models import Invoice
from jobs.tickets.models import Ticket
from studio.shop.models import NumberSeries
from tests.drafts import received
from tests.jobs.billing import issuing
from tests.studio.shop import rush_hour
from tests.studio.shop.rush_hour import EACH, WORKERS, Job


def copies(rows, **changes):
    """New rows like these, each with the changes of its place; written in one go."""
    made = [copy(row) for row in rows]
    for place, row in enumerate(made):
        row.pk, row._state = None, ModelState()
        for name, values in changes.items():
            setattr(row, name, values[place])
    return type(rows[0]).objects.bulk_create(made)


def the_same_again(ticket, times):
    """The ticket with its garment, line and agreement: receiving each would take the most time."""
    garment, agreement = ticket.garments.get(), ticket.agreements.get()
    numbers = [f"26-{place + 2:04d}" for place in range(times)]
    tickets = copies([ticket] * times, number=numbers, form_key=[uuid4() for _ in numbers])
    copies([agreement] * times, ticket=tickets)
    garments = copies([garment] * times, ticket=tickets)
    copies([garment.lines.get()] * times, garment=garments)


@pytest.fixture
def jobs_for(transactional_db, studio, owner, tmp_path):
    """The tickets that wait for their invoices, and four workers."""
    key = f"I{datetime.now(UTC).year}"
    with transaction.atomic():
        NumberSeries.objects.create(key=key)
        the_same_again(received(studio, owner), WORKERS * EACH - 1)
    assert Ticket.objects.count() == WORKERS * EACH

    def jobs(way):
        return [
            Job(
                way=f"{way.__module__}:{way.__name__}",
                key=key,
                database=str(connection.settings_dict["NAME"]),
                folder=str(tmp_path),
                worker=worker,
            )
            for worker in range(WORKERS)
        ]

    return jobs


def test_invoices_at_once_have_no_gap_and_no_twin(jobs_for):
    numbers = rush_hour.by_processes(jobs_for(issuing.guarded))
    year = datetime.now(UTC).year % 100
    expected = [f"I{year}-{number:04d}" for number in range(1, WORKERS * EACH + 1)]
    assert sorted(numbers) == expected
    assert sorted(Invoice.objects.values_list("number", flat=True)) == expected


def test_without_the_guard_the_same_crowd_loses_three_in_four(jobs_for):
    outcomes = Counter(rush_hour.by_threads(jobs_for(issuing.unguarded)))
    assert outcomes["lost"] == EACH * (WORKERS - 1)
    assert Invoice.objects.count() == EACH
