"""Lumping what is promised later changes no answer about the days that are shown."""

from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest

from jobs.planning.nearby import LATER, is_enough, lumps, part
from jobs.planning.open_work import ASKED, FREE, HELD, OpenTicket
from jobs.planning.plan.days import must_do, sittings
from jobs.planning.plan.weeks import six_weeks
from jobs.planning.week_sheet import own_hours, planned_items
from jobs.tickets.models import State
from tests.jobs.planning.books import MONDAY, at, book, job, work

BOOKS = 150
UNTIL = MONDAY + timedelta(days=6)


def ticket(pk, minutes, promise_at, held=FREE, state=State.RECEIVED) -> OpenTicket:
    return OpenTicket(pk, f"26-{pk:04d}", f"Client {pk}", state, promise_at, minutes, held)


def several(dice: Random, load: int) -> list[tuple[OpenTicket, list]]:
    """Tickets of one to three operations, promised in due order over seven weeks; some wait."""
    days = sorted(day for day in dice.choices(range(49), k=load) if day % 7 < 5)
    rows = []
    for pk, day in enumerate(days, 1):
        minutes = [dice.randrange(10, 120) for _ in range(dice.randrange(1, 4))]
        waits = "Washing" if dice.random() < 0.1 else ""
        works = [
            work(pk * 10 + n, long, garment="AB"[n % 2], waits=waits if n == 0 else "")
            for n, long in enumerate(minutes)
        ]
        held = ASKED if waits else FREE
        rows.append((ticket(pk, sum(minutes), at(day, "17:00"), held), works))
    return rows


def whole_and_lumped(rows, min_piece=1):
    """The whole book, the same with lumps, and what was lumped."""
    jobs = {one.pk: job(one.number, one.promise_at, *works) for one, works in rows}
    whole = replace(book(*jobs.values(), days=56, own=480), min_piece=min_piece)
    near, far = part([one for one, _ in rows], set(), whole.bench, UNTIL)
    near_jobs = tuple(jobs[one.pk] for one in near)
    return whole, replace(whole, jobs=near_jobs, lumps=lumps(far, whole.bench)), far


def own_of(one) -> list[int]:
    return [week.own for week in six_weeks(one)[:2]]


@pytest.mark.parametrize("load", [60, 110, 170])
def test_nothing_that_is_shown_differs_from_the_whole_book(load, record_property):
    dice, lumped_books = Random(load), 0  # noqa: S311 -- luck, not secrets
    for _ in range(BOOKS):
        whole, lumped, far = whole_and_lumped(several(dice, load))
        lumped_books += bool(far)
        assert is_enough(lumped, UNTIL)
        for day in (MONDAY + timedelta(days=ahead) for ahead in range(7)):
            assert planned_items(lumped, day) == planned_items(whole, day)
            assert must_do(lumped, day) == must_do(whole, day)
            assert sittings(lumped, day) == sittings(whole, day)
        assert own_hours(lumped) == own_hours(whole)
        assert own_of(lumped) == own_of(whole)
    record_property(
        "figure", f"{load} tickets: {lumped_books} of {BOOKS} random books were lumped, 0 differ"
    )
    assert lumped_books


def test_with_sittings_of_some_length_the_numbers_are_the_same():
    dice = Random(15)  # noqa: S311 -- as above
    for _ in range(BOOKS):
        whole, lumped, _ = whole_and_lumped(several(dice, 110), min_piece=15)
        assert must_do(lumped, UNTIL) == must_do(whole, UNTIL)
        assert own_hours(lumped) == own_hours(whole)


def test_late_tickets_are_never_lumped():
    rows = [(ticket(pk, 600, at(pk // 4, "17:00")), [work(pk, 600)]) for pk in range(20)]
    whole, lumped, far = whole_and_lumped(rows)
    assert whole.plan.relaxed
    assert far == []
    assert lumped.jobs == whole.jobs


@pytest.mark.parametrize(
    "facts",
    [
        {"held": HELD},
        {"state": State.IN_WORK},
        {"pk": 99},  # it has a fitting
    ],
)
def test_what_is_begun_or_held_up_is_read_operation_by_operation(facts):
    near = [ticket(pk, 110, at(pk // 6, "17:00")) for pk in range(1, 24)]
    told = {"pk": 50, "minutes": 60, "promise_at": at(30, "17:00")}
    plain, other = ticket(**told | {"pk": 51}), ticket(**told | facts)
    bench = book(days=56).bench
    here, far = part([*near, other, plain], {99}, bench, UNTIL)
    assert (other in here, plain in far) == (True, True)


def test_a_lump_holds_all_that_is_promised_at_one_moment():
    far = [ticket(1, 60, at(9)), ticket(2, 45, at(9)), ticket(3, 30, at(10))]
    shown = [(one.id, one.due, one.processing) for one in lumps(far, book().bench)]
    assert shown == [(f"{LATER} 1", 9, 105), (f"{LATER} 2", 10, 30)]


def test_a_lump_that_would_be_late_is_not_enough():
    early = book(job("26-0001", at(1), work(1, 480)))
    fits = replace(early, lumps=lumps([ticket(2, 480, at(9))], early.bench))
    late = replace(early, lumps=lumps([ticket(2, 9 * 480, at(9))], early.bench))
    assert is_enough(fits, MONDAY)
    assert not is_enough(late, MONDAY)
