"""Today and the week with 300 open tickets and ten years of history, against 30 and none."""

import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
import time_machine
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from studio.shop.models import User
from tests.bench.grown_week import fill_bench

PAGES = ["today", "week"]
SMALL, LARGE, YEARS = 30, 300, 10
RUNS = 25
MOST_TIMES = 1.3
MOST_QUERIES = 12


@contextmanager
def filled(tickets: int, owner: User, years: int = 0) -> Iterator[None]:
    """A studio with so many open tickets; it is empty again afterwards."""
    with transaction.atomic():
        fill_bench(tickets, owner, years=years)
        yield
        transaction.set_rollback(True)


def milliseconds(client: Client) -> dict[str, float]:
    """The quickest of some runs of each page, in processor time.

    SQLite works in this process, so its time counts; what else the machine does hardly does.
    """
    fastest = {}
    for page in PAGES:
        spent = []
        for _ in range(RUNS):
            start = time.process_time()
            response = client.get(reverse(page))
            spent.append(time.process_time() - start)
            assert response.status_code == 200
        fastest[page] = min(spent) * 1000
    return fastest


def queries(client: Client) -> dict[str, int]:
    counts = {}
    for page in PAGES:
        with CaptureQueriesContext(connection) as asked:
            client.get(reverse(page))
        counts[page] = len(asked)
    return counts


@pytest.mark.django_db
@time_machine.travel("2026-11-25 09:30Z", tick=False)
def test_today_and_the_week_in_a_grown_studio(owner_client, owner, record_property):
    with filled(SMALL, owner):
        before = milliseconds(owner_client)
    with filled(LARGE, owner, YEARS):
        large = milliseconds(owner_client)
        asked = queries(owner_client)
    with filled(SMALL, owner):
        after = milliseconds(owner_client)
    small = {page: min(before[page], after[page]) for page in PAGES}
    ratios = {page: large[page] / small[page] for page in PAGES}
    for page in PAGES:
        record_property(
            "figure",
            f"{page}: {large[page]:.1f} ms with {LARGE} open tickets and {YEARS} years of history, "
            f"{small[page]:.1f} ms with {SMALL} and none: {ratios[page]:.2f} times of at most "
            f"{MOST_TIMES}; {asked[page]} queries of at most {MOST_QUERIES}",
        )
    assert {page: ratio for page, ratio in ratios.items() if ratio > MOST_TIMES} == {}
    assert {page: count for page, count in asked.items() if count > MOST_QUERIES} == {}
