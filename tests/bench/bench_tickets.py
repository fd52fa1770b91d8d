"""The list of tickets and a ticket's page among 20,000 tickets."""

import statistics
import time

import pytest
from django.urls import reverse

from tests.bench.grown import grow

GARMENTS = 32_000
RUNS = 15
MOST_MS = 100


@pytest.mark.django_db
def test_lists_in_a_grown_studio(owner_client, owner, record_property):
    """Processor time of the answer, the median of some."""
    last = grow(GARMENTS, owner)[-1]
    tickets = reverse("tickets")
    pages = {
        "to sew": tickets,
        "all": f"{tickets}?state=all",
        "collected": f"{tickets}?state=collected",
        "by name": f"{tickets}?q=brook",
        "no such number": f"{tickets}?q=99999",
        "one ticket": last.get_absolute_url(),
    }
    times = {}
    for name, address in pages.items():
        spent = []
        for _ in range(RUNS):
            start = time.process_time()
            assert owner_client.get(address).status_code == 200
            spent.append(time.process_time() - start)
        times[name] = statistics.median(spent) * 1000
    shown = ", ".join(f"{name} {ms:.0f} ms" for name, ms in times.items())
    record_property("figure", f"Lists of 20,000 tickets: {shown}, at most {MOST_MS}")
    assert max(times.values()) <= MOST_MS
