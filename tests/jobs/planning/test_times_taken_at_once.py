"""Two who take times at once: real threads, each with a connection of its own.

By hand: of two appointments that overlap one stands, and the other is told what it clashes with,
as it would be a moment later.
"""

from collections.abc import Callable
from datetime import time, timedelta
from time import sleep

import pytest
from django.db import transaction

from jobs.planning import actions, verbs
from jobs.planning.models import Appointment, Fitting
from jobs.planning.queries import clash_with
from studio.shop import clock, history
from tests.drafts import received
from tests.studio.shop.rush_hour import at_once


@pytest.fixture
def booked(transactional_db, studio, owner, monkeypatch):
    """Two tickets with a fitting each, on two days; a clash is looked for slowly."""

    def look(*facts, **besides):
        clash = clash_with(*facts, **besides)
        sleep(0.2)
        return clash

    with transaction.atomic():
        tickets = [received(studio, owner), received(studio, owner)]
    fittings = [book(studio, owner, ticket, day) for day, ticket in enumerate(tickets, start=1)]
    monkeypatch.setattr(actions.week, "clash_with", look)
    monkeypatch.setattr(verbs, "clash_with", look)
    return fittings


def at(day: int, minutes: int = 0):
    open_day = clock.today() + timedelta(days=-clock.today().weekday() % 7 + day)
    return clock.at(open_day, time(11)) + timedelta(minutes=minutes)


def book(studio, owner, ticket, day: int, minutes: int = 0) -> Fitting:
    return actions.book_fitting(
        ticket=ticket, starts_at=at(day, minutes), minutes=30, kind="first", studio=studio, by=owner
    )


def standing(*acts: Callable[[], object]) -> int:
    """How many of the acts were done; the others were told of a clash, and of nothing else."""

    def done(act: Callable[[], object]) -> bool:
        try:
            act()
        except (actions.PlanError, history.HistoryError) as refused:
            if "clashes" in str(refused) or "taken" in str(refused):
                return False
            raise
        return True

    return sum(at_once(*(lambda act=act: done(act) for act in acts)))


def test_fittings_of_two_tickets_at_one_time(booked, studio, owner):
    first, other = (fitting.ticket for fitting in booked)
    acts = [lambda: book(studio, owner, first, 3), lambda: book(studio, owner, other, 3, 15)]
    assert standing(*acts) == 1
    assert Fitting.objects.filter(starts_at__gte=at(3)).count() == 1


def test_two_that_are_moved_to_one_time(booked, studio, owner):
    acts = [
        lambda fitting=fitting: actions.move_fitting(
            fitting=fitting, starts_at=at(3), studio=studio, by=owner
        )
        for fitting in booked
    ]
    assert standing(*acts) == 1
    assert Fitting.objects.filter(starts_at=at(3)).count() == 1


def test_a_fitting_and_an_appointment(booked, studio, owner):
    def put(name: str) -> Callable[[], object]:
        return lambda: actions.put_appointment(
            kind="other", name=name, starts_at=at(3), minutes=60, studio=studio, by=owner
        )

    assert standing(lambda: book(studio, owner, booked[0].ticket, 3), put("Accounts")) == 1
    # The same appointment sent twice at once is one.
    Appointment.objects.all().delete()
    Fitting.objects.filter(starts_at=at(3)).delete()
    assert standing(put("A visit"), put("A visit")) == 2
    assert Appointment.objects.count() == 1


def test_a_time_that_comes_back_and_one_that_takes_it(booked, studio, owner):
    first, other = booked
    actions.cancel_fitting(fitting=first, by=owner)
    entry = history.of(first.ticket)[0]
    acts = [
        lambda: history.undo(entry=entry, by=owner),
        lambda: book(studio, owner, other.ticket, 1),
    ]
    assert standing(*acts) == 1
    assert Fitting.objects.filter(starts_at=at(1), state="booked").count() == 1
