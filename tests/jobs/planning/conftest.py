"""Monday 2 March 2026 in Dublin, as the small books have it."""

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
import time_machine

from jobs.tickets.models import Line, Ticket
from tests.drafts import hem, received, take_in, trousers
from tests.jobs.planning.books import at


@pytest.fixture
def on() -> Callable[..., time_machine.travel]:
    """``with on(1, "10:00"):`` is day 1 of the test weeks at that local time."""

    def travel(day: int, hour: str = "09:00") -> time_machine.travel:
        return time_machine.travel(at(day, hour).astimezone(UTC), tick=False)

    return travel


@pytest.fixture
def monday():
    """Eight in the morning, an hour before the bench opens."""
    with time_machine.travel(datetime(2026, 3, 2, 8, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def ticket(monday, studio, owner) -> Ticket:
    """An hour's taking in and, after a fitting, a hem; promised for Thursday of next week."""
    return received(
        studio, owner, trousers(take_in(), hem(fitting_first=True)), promise_at=at(10)
    )  # fmt: skip


@pytest.fixture
def hem_line(ticket) -> Line:
    return ticket.garments.get().lines.get(name="Hem")


@pytest.fixture
def book_at(ticket, studio, owner):
    """Book a fitting of the ticket for day and hour of the test weeks."""
    from jobs.planning import actions

    def booking(day: int, hour: str = "10:00", **facts):
        booked = {"ticket": ticket, "minutes": 30, "kind": "first", "studio": studio, "by": owner}
        return actions.book_fitting(starts_at=at(day, hour), **booked | facts)

    return booking
