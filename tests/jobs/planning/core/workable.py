"""What any plan has to respect, and a calendar long enough for every random book."""

from collections.abc import Iterable, Sequence

from jobs.planning.core import Calendar, Stage
from tests.jobs.planning.core import references as ref
from tests.jobs.planning.core.books import Case

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
