"""What tests of several rooms stand on."""

import pytest
import time_machine

from tests import factories
from tests.drafts import received, trousers
from tests.jobs.planning.books import at


@pytest.fixture
def bring(studio, owner):
    """A ticket with one pair of trousers, a hem of 30 minutes unless told otherwise."""

    def bringing(day: int, *lines, hour="17:00", name="Ada Moss", **facts):
        client = factories.ClientFactory(name=name)
        details = {"client": client, "promise_at": at(day, hour)} | facts
        return received(studio, owner, trousers(*lines), **details)

    return bringing


@pytest.fixture
def wednesday():
    """For tests whose words name the day or the year, whatever day others try."""
    with time_machine.travel("2026-03-11 10:30Z", tick=False):
        yield
