"""Small books of work for tests: a bench from Monday 2 March 2026, nine to five, in Dublin."""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from jobs.planning.plan.bench import Busy, Shift, lay_out
from jobs.planning.plan.book import Book, OwnTarget
from jobs.planning.plan.workload import FittingAt, Job, Work

DUBLIN = ZoneInfo("Europe/Dublin")
MONDAY = date(2026, 3, 2)
WEEKDAYS = {weekday: Shift(time(9), 480) for weekday in range(5)}


def at(day: int, hour: str = "17:00") -> datetime:
    """Day ``day`` of the test weeks (0 is Monday 2 March) at that local time."""
    return datetime.combine(MONDAY + timedelta(days=day), time.fromisoformat(hour), DUBLIN)


def work(line: int, minutes: int, **facts: Any) -> Work:
    facts = {"garment": "A", "name": f"Work {line}", "order": 10} | facts
    return Work(line=line, minutes=minutes, **facts)


def job(ticket: str, due: datetime, *works: Work, fittings: Sequence[FittingAt] = ()) -> Job:
    return Job(ticket, f"Client of {ticket}", due, works, tuple(fittings))


def fitting(day: int, hour: str, minutes: int = 30) -> FittingAt:
    start = at(day, hour)
    return FittingAt(start, start + timedelta(minutes=minutes), "First fitting")


def book(*jobs: Job, now: datetime | None = None, own: int = 0, **facts: Any) -> Book:
    """Two weeks of bench, own minutes of each as told, the fittings of the jobs in the calendar."""
    now, own_days = now or at(0, "09:00"), facts.pop("own_days", ())
    busy = tuple(Busy(f.starts, f.ends) for planned in jobs for f in planned.fittings)
    facts = {"shifts": WEEKDAYS, "days": 14, "zone": DUBLIN} | facts
    bench = lay_out(now, busy=busy, cuts=[planned.promise_at for planned in jobs], **facts)
    weeks = [MONDAY + timedelta(weeks=n) for n in range(2)]
    placed = [
        sum(d.minutes for d in own_days if 0 <= (d.day - monday).days < 7) for monday in weeks
    ]
    targets = tuple(
        OwnTarget(monday, own, placed=held, on_days=held)
        for monday, held in zip(weeks, placed, strict=True)
    )
    return Book(bench, jobs, busy, (), targets, own_days=tuple(own_days))


def is_open(day: date) -> bool:
    return day.weekday() < 5
