"""A year's journal of fifty makes, each with its photograph."""

import time
from datetime import date, timedelta

import pytest
from django.urls import reverse

from tests import papers
from tests.jobs.counter.year.making import full_make

MAKES = 50
MOST_SECONDS, MOST_BYTES = 10, 15_000_000


@pytest.mark.parametrize("paper", ["A5", "A4", "Letter"])
def test_fifty_makes_with_photographs(owner_client, watch, paper, record_property):
    watch.move_to("2026-11-25 09:30Z")
    for number in range(MAKES):
        full_make(date(2026, 1, 5) + timedelta(weeks=number % 46), number)
    began, worked = time.perf_counter(), time.process_time()
    with papers.no_complaints():
        owner_client.post(reverse("journal-build", args=[2026]), {"paper": paper})
    waited, seconds = time.perf_counter() - began, time.process_time() - worked
    pdf = owner_client.get(reverse("journal-file", args=[2026, paper])).content
    pages = len(papers.reader(pdf).pages)
    record_property(
        "figure",
        f"journal of {MAKES} makes on {paper}: {seconds:.1f} s of processor time "
        f"of at most {MOST_SECONDS} ({waited:.1f} s by the clock), "
        f"{len(pdf) / 1e6:.1f} MB of at most {MOST_BYTES / 1e6:.0f}, {pages} pages",
    )
    assert seconds <= MOST_SECONDS
    assert len(pdf) <= MOST_BYTES
