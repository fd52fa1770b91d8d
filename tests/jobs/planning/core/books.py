"""Short ways to write down a book, and random ones: chains, future releases, overloads."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from random import Random

from jobs.planning.core import Calendar, FittingRule, Stage
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.references import closure


def dice(key: int) -> Random:
    """Random numbers that are the same in every run."""
    return Random(key)  # noqa: S311 -- reproducible, not secret


def job(name: str, processing: int, release: int, due: int) -> Stage:
    """A ticket of one stage."""
    return Stage(name, name, 0, processing, release, due)


def units(jobs: list[tuple[int, int]]) -> list[Stage]:
    """Jobs 1, 2, ... of (length, due time), all there at time 0, on buckets of one time unit.

    Finished at time C means finished in bucket C - 1, so due time d is due bucket d - 1 and the
    lateness C - d stays the same.
    """
    return [job(str(i), length, 0, due - 1) for i, (length, due) in enumerate(jobs, start=1)]


def unit_calendar(stages: list[Stage]) -> Calendar:
    """One minute in every bucket, for ever."""
    return Calendar((1,) * max(stage.due + 1 for stage in stages), (1,))


@dataclass(frozen=True)
class Case:
    """One book with the questions that will be asked of it."""

    number: int
    capacity: tuple[int, ...]
    stages: tuple[Stage, ...]
    weeks: tuple[tuple[int, int], ...]
    target: tuple[int, ...]
    processing: int
    release: int
    parts: tuple[int, ...]
    rule: FittingRule
    rush: Stage
    tail: tuple[int, ...]


def random_case(number: int) -> Case:
    """The case of that number, always the same."""
    rng = dice(number)
    buckets = rng.randint(3, 10)
    full = rng.choice([4, 12, 60])
    capacity = tuple(
        rng.choice([0, full, rng.randint(0, full), rng.randint(0, full)]) for _ in range(buckets)
    )
    stages = random_stages(rng, capacity)
    release = rng.randrange(buckets)
    due = rng.randrange(buckets)
    return Case(
        number=number,
        capacity=capacity,
        stages=stages,
        weeks=random_weeks(rng, buckets),
        target=tuple(rng.randint(0, full) for _ in range(3)),
        processing=rng.randint(0, 2 * full),
        release=release,
        parts=tuple(rng.choice([0, rng.randint(1, full)]) for _ in range(rng.choice([2, 2, 2, 3]))),
        rule=FittingRule(
            lead_in=rng.randint(0, 1),
            lead_out=rng.randint(0, 1),
            minutes=rng.choice([0, rng.randint(1, max(1, full // 3)), full]),
            allowed=rng.choice([None, frozenset(range(rng.randint(0, 1), 300, rng.randint(1, 2)))]),
        ),
        rush=Stage("rush", "rush", 0, rng.randint(1, full), rng.randint(0, due), due),
        tail=(full, 0, full),
    )


def random_stages(rng: Random, capacity: tuple[int, ...]) -> tuple[Stage, ...]:
    """Tickets of one to three stages, shuffled; the load runs from light to twice too much."""
    buckets, load = len(capacity), rng.choice([0.3, 0.5, 0.6, 0.8, 1.0, 1.3, 2.0])
    left = int(sum(capacity) * load) + 1
    stages: list[Stage] = []
    for ticket in range(rng.randint(1, 6)):
        for seq in range(rng.choice([1, 1, 1, 2, 3])):
            due = rng.choice([rng.randrange(buckets)] * 24 + [-rng.randint(1, 3)])
            start = rng.choice([0, rng.randint(0, max(due, 0))])
            minutes = rng.choice([0, *[rng.randint(1, max(1, left // 3))] * 6])
            # One day's worth of work for several people, now and then.
            minutes += rng.choice([0] * 19 + [2 * max(capacity)])
            name = f"{ticket}{'abc'[seq]}"
            more = Stage(
                name, f"t{ticket}", rng.choice([seq, seq, max(seq - 1, 0)]), minutes, start, due
            )
            if all(s.release <= max(s.due, 0) for s in closure([*stages, more])):
                stages.append(more)
                left = max(0, left - minutes)
    rng.shuffle(stages)
    return tuple(stages)


def random_weeks(rng: Random, buckets: int) -> tuple[tuple[int, int], ...]:
    """Three disjoint stretches in date order, with gaps between some of them."""
    marks = sorted(rng.sample(range(buckets), 3))
    ends = [*(mark - 1 for mark in marks[1:]), buckets - 1]
    return tuple(
        (first, rng.choice([last, rng.randint(first, last)]))
        for first, last in zip(marks, ends, strict=True)
    )


LONG = 120
"""Buckets in which every random book and newcomer is finished whatever happens."""


def long_calendar(case: Case) -> tuple[Calendar, list[int]]:
    """The case's calendar, and its minutes written out."""
    again = LONG // len(case.tail)
    return Calendar(case.capacity, case.tail), [*case.capacity, *case.tail * again]


def check_workable(
    days: Sequence[Iterable[tuple[str, int]]], capacity: Sequence[int], stages: Iterable[Stage]
) -> dict[str, int]:
    """No bucket overfull, nothing before its release or before its ticket's earlier stages.

    Returns the minutes left of each stage.
    """
    rows = {s.id: s for s in ref.closure(stages)}
    left = {s.id: s.processing for s in rows.values()}
    for bucket, day in enumerate(days):
        assert sum(minutes for _, minutes in day) <= capacity[bucket]
        for name, minutes in day:
            stage = rows[name]
            assert minutes > 0
            assert stage.release <= bucket
            earlier = [s for s in rows.values() if s.ticket == stage.ticket and s.seq < stage.seq]
            assert not any(left[s.id] for s in earlier)
            left[name] -= minutes
    assert min(left.values(), default=0) >= 0
    return left
