"""What the clock says of an operation on the price list."""

import pytest
from django.urls import reverse

from jobs.planning.bench_time import ClockSays, clock_on
from studio.shop import clock
from tests.factories import BenchTimeFactory, LineFactory, OperationFactory

pytestmark = pytest.mark.django_db


def timed(operation, *sittings, done=True, **facts):
    line = LineFactory(operation=operation, done_at=clock.now() if done else None, **facts)
    for minutes in sittings:
        BenchTimeFactory(line=line, minutes=minutes)


def test_the_middle_of_what_a_piece_took_once_five_were_timed(owner_client):
    hem = OperationFactory(name="Hem", minutes=35)
    timed(hem, 20)
    timed(hem, 10, 14)
    # Two hems on one line: 26 each.
    timed(hem, 52, quantity=2)
    timed(hem, 90)
    page = reverse("price-operation", args=[hem.pk])
    assert clock_on(hem.pk) is None
    assert "Yours took" not in owner_client.get(page).text
    timed(hem, 31)
    # None of these is such a hem, or not yet: another's, unfinished, still running, lined.
    timed(OperationFactory(), 5)
    timed(hem, 5, done=False)
    timed(hem, None)
    timed(hem, 5, surcharges=[{"name": "Lined"}])
    # By hand: 20, 24, 26, 31, 90; the middle one is 26.
    assert clock_on(hem.pk) == ClockSays(26, 5)
    assert "Yours took 26 min (5 timed)." in owner_client.get(page).text
