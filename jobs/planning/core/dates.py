"""The honest date: the earliest one that keeps every other promise."""

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass

from jobs.planning.core.calendars import FARTHEST, Calendar, reach_of
from jobs.planning.core.edf import settle
from jobs.planning.core.errors import NoDayError, PlanningError
from jobs.planning.core.spare import Room, room, spare_minutes
from jobs.planning.core.stages import Stage, prepare

Allowed = Callable[[int], bool] | Collection[int] | None
"""Which buckets may be chosen: a test, the buckets themselves, or None for any."""


@dataclass(frozen=True)
class Offer:
    """``processing`` minutes, workable from ``release``, can be promised for bucket ``due``.

    ``room`` tells what is spare by then, and ``too_soon`` the same for the last allowed bucket
    before it (None if there is none): its binding numbers are the reason for not sooner.
    """

    processing: int
    release: int
    due: int
    room: Room
    too_soon: Room | None


def earliest_due(
    calendar: Calendar,
    stages: Iterable[Stage],
    processing: int,
    release: int,
    allowed: Allowed = None,
) -> int:
    """First allowed due bucket for a new job that lets every window of the book be kept.

    In an overfull book nobody is made later than earliest-due-first has them already. A job of
    no minutes gets the first allowed bucket from ``release`` on. O(n log n + T).

    Source: the table of `spare`, which needs no search.

    Raises
    ------
    NoBenchTimeError
        If the calendar never holds the work.
    NoDayError
        If no bucket after the answer is allowed.
    PlanningError
        For negative ``processing`` or ``release``; and whatever `edf` raises.
    """
    if processing < 0 or release < 0:
        raise PlanningError("A new job needs minutes and a release of 0 or more.")
    book = prepare(stages)
    capacity = _reach(calendar, book, processing, release)
    longer, settled = settle(capacity, book)
    table = spare_minutes(longer, settled, release)
    first = next(due for due in range(release, len(longer)) if table[due] >= processing)
    return next_allowed(allowed, first)


def _reach(
    calendar: Calendar, stages: list[Stage], processing: int, release: int
) -> tuple[int, ...]:
    """Capacity in which the new job fits for certain, if only behind everybody else."""
    work = sum(stage.processing for stage in stages) + processing
    behind = max(release, len(reach_of(calendar, stages)) - 1)
    return calendar.reach(behind, minutes=work, after=release)


def next_allowed(allowed: Allowed, first: int) -> int:
    """First allowed bucket from ``first`` on. Raises NoDayError if none is found."""
    day = next(allowed_from(allowed, first), None)
    if day is None:
        raise NoDayError(first)
    return day


def allowed_from(allowed: Allowed, first: int) -> Iterator[int]:
    """The allowed buckets from ``first`` on: all of a collection, `FARTHEST` ones of a test."""
    days = range(first, first + FARTHEST)
    if allowed is None:
        return iter(days)
    if callable(allowed):
        return filter(allowed, days)
    return iter(sorted(day for day in allowed if day >= first))


def is_allowed(allowed: Allowed, bucket: int) -> bool:
    """Whether one bucket may be chosen."""
    if allowed is None:
        return True
    return allowed(bucket) if callable(allowed) else bucket in allowed


def offer(
    calendar: Calendar,
    stages: Iterable[Stage],
    processing: int,
    release: int,
    allowed: Allowed = None,
) -> Offer:
    """`earliest_due` with its reason. Same complexity and errors."""
    book = prepare(stages)
    due = earliest_due(calendar, book, processing, release, allowed)
    capacity = calendar.reach(max(due, len(_reach(calendar, book, processing, release)) - 1))
    sooner = (day for day in range(due - 1, release - 1, -1) if is_allowed(allowed, day))
    before = next(sooner, None)
    return Offer(
        processing=processing,
        release=release,
        due=due,
        room=room(capacity, book, due, release),
        too_soon=None if before is None else room(capacity, book, before, release),
    )
