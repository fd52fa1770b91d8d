"""The honest date: the earliest one that keeps every other promise."""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from jobs.planning.core.calendars import FARTHEST, Calendar
from jobs.planning.core.edf import settle
from jobs.planning.core.errors import NoDayError, PlanningError
from jobs.planning.core.spare import Room, free_until, room
from jobs.planning.core.stages import Book, Stage, prepare

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
    free = free_until(*_settle_for(calendar, book, processing, release), release)
    # Spare minutes are the least free ones from a date on, so the last date that lacks some counts.
    lacking = (place for place in range(len(free), 0, -1) if free[place - 1] < processing)
    return next_allowed(allowed, release + next(lacking, 0))


def _settle_for(
    calendar: Calendar, book: Book, processing: int, release: int
) -> tuple[Sequence[int], Book]:
    """Capacity in which the newcomer fits for certain, if only behind everybody else."""
    last = max(release, book[-1].due) if book else release
    minutes = sum([stage.processing for stage in book]) + processing
    return settle(calendar.reach(last, minutes=minutes, after=release), book)


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
    enough = len(_settle_for(calendar, book, processing, release)[0])
    capacity = calendar.reach(max(due, enough - 1))
    sooner = (day for day in range(due - 1, release - 1, -1) if is_allowed(allowed, day))
    before = next(sooner, None)
    return Offer(
        processing=processing,
        release=release,
        due=due,
        room=room(capacity, book, due, release),
        too_soon=None if before is None else room(capacity, book, before, release),
    )
