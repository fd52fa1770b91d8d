"""The honest date and what a day costs are one question: no day before the first is free of cost.

A linear program says the same (see ``tests/jobs/planning/core/test_own_makes.py``): it is asked
what of own hours and makes can be had with and without the job, for every day of its fitting.
"""

from dataclasses import replace
from datetime import datetime, time, timedelta

import pytest

from jobs.planning.core import Stage, fits
from jobs.planning.plan.bench import Busy, lay_out
from jobs.planning.plan.book import Book, OwnTarget, monday_of
from jobs.planning.plan.promises import AskedOperation, Promises, asked_for
from jobs.planning.plan.rush import cost
from jobs.planning.plan.workload import FittingAt, Job, PlannedMake
from tests.jobs.planning.books import DUBLIN, WEEKDAYS, is_open, work
from tests.jobs.planning.core.books import dice
from tests.jobs.planning.core.test_own_makes import by_program
from tests.thorough import thinned

# An ordinary week, a leap day, the nights of New Year and of both changes of the clock.
MOMENTS = (
    "2026-03-02T09:00",
    "2028-02-29T10:30",
    "2026-12-31T23:45",
    "2026-03-29T00:45",
    "2026-10-25T00:30",
    "2026-04-30T16:10",
)
READY_BY = time(17)
DAYS = 14


def by_chance(number, moment):
    """Two weeks by chance, and a job for them: in half of the cases with a fitting to be booked."""
    rng = dice(number)
    now = datetime.fromisoformat(moment).replace(tzinfo=DUBLIN)
    today = now.date()

    def at_some_time():
        hour = time(rng.choice([9, 11, 12, 15, 17]), rng.choice([0, 20]))
        return datetime.combine(today + timedelta(days=rng.randrange(1, 11)), hour, DUBLIN)

    jobs, busy = [], []
    for place in range(rng.randrange(4)):
        fittings = []
        if rng.random() < 0.4:
            starts = at_some_time()
            fittings = [FittingAt(starts, starts + timedelta(minutes=30), "First fitting")]
            busy.append(Busy(starts, starts + timedelta(minutes=30)))
        waits = rng.choice([{}, {}, {"waits": "Thread", "expected": today + timedelta(days=2)}])
        works = [
            work(10 * place + 1, rng.choice([60, 200, 500]), **waits),
            work(10 * place + 2, rng.choice([30, 90]), after=len(fittings), order=40),
        ]
        due = datetime.combine(today + timedelta(days=rng.randrange(3, 12)), READY_BY, DUBLIN)
        jobs.append(Job(f"26-{place:04}", "Client", due, tuple(works), tuple(fittings)))
    bench = lay_out(
        now, DAYS, DUBLIN, WEEKDAYS, busy=busy,
        cuts=[datetime.combine(today + timedelta(days=n), READY_BY, DUBLIN) for n in range(DAYS)],
    )  # fmt: skip
    mondays = [monday_of(today) + timedelta(weeks=n) for n in range(2)]
    own = rng.choice([0, 480, 720, 1440])
    makes = tuple(
        PlannedMake(n, f"Make {n}", today + timedelta(days=rng.randrange(10)), minutes)
        for n, minutes in enumerate(rng.sample([45, 300, 900, 1500], rng.randrange(3)))
    )
    targets = tuple(OwnTarget(monday, own) for monday in mondays)
    week_book = Book(bench, tuple(jobs), tuple(busy), (), targets, makes=makes)
    minutes = rng.choice([30, 180, 700])
    pieces = [AskedOperation("Hem", minutes, after=rng.random() < 0.6)]
    if rng.random() < 0.5:
        pieces.append(AskedOperation("Body", rng.choice([20, 240]), before=True))
    return Promises(week_book, asked_for(pieces), READY_BY, is_open)


def takes_nothing(promises, due):
    """Whether the program finds a day for the fitting on which nobody gives way."""
    week_book, parts = promises.book, promises.asked.parts
    capacity = week_book.capacity
    before = as_it_is(promises)
    for bucket in range(due) if len(parts) > 1 else [None]:
        new = [Stage("new", "new", 0, parts[-1], 0 if bucket is None else bucket + 1, due)]
        if bucket is not None:
            if not promises.may_promise(bucket):
                continue
            meeting = promises.asked.fitting_minutes
            new.append(Stage("first", "first", 0, parts[0], 0, bucket))
            new.append(Stage("meeting", "meeting", 0, meeting, bucket, bucket))
        clients = [*week_book.stages, *new]
        if fits(capacity, clients) and held(promises, clients) == before:
            return True
    return False


def as_it_is(promises):
    return held(promises, promises.book.stages)


def held(promises, clients):
    week_book = promises.book
    rows = [
        replace(stage, release=max(stage.release, 0), due=max(stage.due, 0)) for stage in clients
    ]
    makes = sorted(week_book.make_stages, key=lambda make: (make.due, make.ticket))
    weeks, targets = week_book.weeks, week_book.own_whole
    cut, kept, _ = by_program(week_book.capacity, rows, weeks, targets, makes, spare=False)
    return cut, kept


@pytest.mark.parametrize("moment", MOMENTS)
@pytest.mark.parametrize("number", thinned(range(12), range(4).__contains__))
def test_a_day_is_free_from_the_honest_date_on(number, moment):
    promises = by_chance(number, moment)
    week_book, today = promises.book, promises.book.bench.today
    days = [today + timedelta(days=ahead) for ahead in range(DAYS)]
    days = [day for day in days if is_open(day) and not promises.is_over(day)]
    prices = {day: cost(promises, day) for day in days}
    if not fits(promises.capacity, week_book.stages):
        assert not any(price.fits or price.free for price in prices.values())
        return
    honest = promises.honest()
    assert [day for day in days if prices[day].free] == [day for day in days if day >= honest.kept]
    assert [day for day in days if prices[day].fits] == [
        day for day in days if day >= honest.sooner
    ]
    before = [day for day in days if day < honest.kept][-1:]
    for day in [*before, honest.kept]:
        if (due := promises.due_bucket(day)) < len(week_book.capacity):
            assert takes_nothing(promises, due) == (day == honest.kept)
