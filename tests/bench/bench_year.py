"""The year's page of a studio that has worked for five years."""

import time
from datetime import date, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from jobs.billing.models import Invoice
from jobs.makes.models import ClothMove, Make
from jobs.planning.models import BenchTime
from tests import factories as f
from tests.jobs.counter.year.making import at

FIRST, DAYS = date(2022, 1, 1), 1826
SITTINGS, MAKES, INVOICES, MOVES = 6, 40, 600, 120
"""Bench times a day; the rest by the year."""
MOST_SECONDS = 3


def days(a_year: int) -> list[date]:
    """Of each of the five years that many days, evenly spread."""
    return [
        date(FIRST.year + number // a_year, 1, 1) + timedelta(days=number % a_year * 365 // a_year)
        for number in range(5 * a_year)
    ]


@pytest.fixture
def grown(studio, owner):
    with time_machine.travel("2026-11-25 09:30Z", tick=False):
        line, ticket, cloth = f.LineFactory(), f.TicketFactory(), f.ClothFactory()
    BenchTime.objects.bulk_create(
        f.BenchTimeFactory.build(
            line=line if sitting % 3 else None,
            purpose="client" if sitting % 3 else "own",
            started_at=at(FIRST + timedelta(days=day), f"{9 + sitting:02d}:00"),
            by=owner,
        )
        for day in range(DAYS)
        for sitting in range(SITTINGS)
    )
    Make.objects.bulk_create(
        f.MakeFactory.build(state="finished", finished_on=day, added_at=at(day), form_key=uuid4())
        for day in days(MAKES)
    )
    told = {"garment": "A Trousers", "quantity": 1, "net": 2115, "steps": ["as agreed"] * 9}
    lines = [{"name": f"Operation {number}", **told} for number in range(3)]
    Invoice.objects.bulk_create(
        f.InvoiceFactory.build(
            ticket=ticket, issued_by=owner, issued_on=day, issued_at=at(day), form_key=uuid4(),
            data={"lines": lines, "adjustments": [], "studio": {"terms": "x" * 2000}},
        )
        for day in days(INVOICES)
    )  # fmt: skip
    ClothMove.objects.bulk_create(
        f.ClothMoveFactory.build(cloth=cloth, day=day, by=owner, form_key=uuid4())
        for day in days(MOVES)
    )


def test_it_is_ready_in_three_seconds(owner_client, grown, record_property):
    with time_machine.travel("2026-11-25 09:30Z", tick=True):
        owner_client.get("/year/2022/")
        began, worked = time.perf_counter(), time.process_time()
        page = owner_client.get(reverse("year"))
        waited, seconds = time.perf_counter() - began, time.process_time() - worked
    sheet = page.context["sheet"]
    assert [row.year for row in sheet.years] == [2026, 2025, 2024, 2023, 2022]
    assert sheet.made == MAKES
    record_property(
        "figure",
        f"the year's page with five years of {SITTINGS} bench times a day: {seconds:.1f} s of "
        f"processor time of at most {MOST_SECONDS} ({waited:.1f} s by the clock)",
    )
    assert seconds <= MOST_SECONDS
