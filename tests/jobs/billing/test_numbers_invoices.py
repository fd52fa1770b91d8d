"""Two hundred invoices at once, by four threads and by four processes."""

from collections import Counter
from datetime import UTC, datetime

import pytest
from django.db import connection, transaction

from jobs.billing.models import Invoice
from studio.shop.models import NumberSeries
from tests.drafts import received
from tests.jobs.billing import issuing
from tests.studio.shop import rush_hour
from tests.studio.shop.rush_hour import EACH, WORKERS, Job

CROWDS = [rush_hour.by_threads, rush_hour.by_processes]


@pytest.fixture
def jobs_for(transactional_db, studio, owner, tmp_path):
    """Two hundred tickets that wait for their invoices, and four workers."""
    key = f"I{datetime.now(UTC).year}"
    with transaction.atomic():
        NumberSeries.objects.create(key=key)
        client = received(studio, owner).client
        for _ in range(WORKERS * EACH - 1):
            received(studio, owner, client=client)

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


@pytest.mark.parametrize("crowd", CROWDS)
def test_two_hundred_invoices_at_once_have_no_gap_and_no_twin(crowd, jobs_for):
    numbers = crowd(jobs_for(issuing.guarded))
    year = datetime.now(UTC).year % 100
    expected = [f"I{year}-{number:04d}" for number in range(1, WORKERS * EACH + 1)]
    assert sorted(numbers) == expected
    assert sorted(Invoice.objects.values_list("number", flat=True)) == expected


@pytest.mark.parametrize("crowd", CROWDS)
def test_without_the_guard_the_same_crowd_loses_three_in_four(crowd, jobs_for):
    outcomes = Counter(crowd(jobs_for(issuing.unguarded)))
    assert outcomes["lost"] == EACH * (WORKERS - 1)
    assert Invoice.objects.count() == EACH
