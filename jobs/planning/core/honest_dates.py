"""Spare minutes for every date, and the earliest dates that keep every other promise."""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from jobs.planning.core.earliest_due_first import (
    fits,
    free_until,
    open_at,
    ready,
    settle,
)
from jobs.planning.core.stages import (
    FARTHEST,
    Calendar,
    NoDayError,
    PlanningError,
    PreparedStages,
    Stage,
    last_bucket,
    prepare,
    reach_of,
)


@dataclass(frozen=True)
class Room:
    """A newcomer worked in ``release`` to ``due`` may take ``minutes`` without harm to anybody.

    The reason: from ``release`` to the end of ``binding_due`` there are ``capacity`` minutes, of
    which ``stages``, open or arriving and due by then, hold ``demand``. ``relaxed`` says that
    the book is overfull and late stages were taken as due when earliest-due-first finishes them.
    """

    release: int
    due: int
    minutes: int
    binding_due: int
    capacity: int
    demand: int
    stages: tuple[str, ...]
    relaxed: bool


def room(capacity: Sequence[int], stages: Iterable[Stage], due: int, release: int = 0) -> Room:
    """`spare` for one date with its reason. Ties: the earliest binding due bucket.

    O(n log n + T). Raises IndexError unless ``release`` <= ``due`` are buckets of ``capacity``;
    else as `edf` does.
    """
    if not 0 <= release <= due < len(capacity):
        raise IndexError(f"{release} to {due} is no window in {len(capacity)} buckets.")
    given = ready(capacity, stages)
    longer, book = settle(capacity, given)
    left = open_at(longer, book, release)
    free = free_until(longer, book, release)[due - release :]
    binding = due + free.index(min(free))
    held = sum(longer[release : binding + 1])
    return Room(
        release=release,
        due=due,
        minutes=min(free),
        binding_due=binding,
        capacity=held,
        demand=held - min(free),
        stages=tuple(
            stage.id
            for stage, minutes in zip(book, left, strict=True)
            if minutes and last_bucket(stage) <= binding
        ),
        relaxed=book is not given,
    )


Allowed = Callable[[int], bool] | Collection[int] | None
"""Which buckets may be chosen: a test, the buckets themselves, or None for any."""


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
    calendar: Calendar, book: PreparedStages, processing: int, release: int
) -> tuple[Sequence[int], PreparedStages]:
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


@dataclass(frozen=True)
class FittingRule:
    """When fittings may be, and how the work stands around them.

    For a fitting in bucket f the work before it is due in f - ``lead_in`` and the work after it
    is released in f + ``lead_out``. The fitting takes ``minutes`` of bench time from bucket f.
    ``allowed`` says which buckets may hold a fitting, ``pickup`` which may be promised.

    A fitting in the morning of a day is (1, 0), at the end of one (0, 1). Where the day is cut
    in two buckets by an appointment, f is the bucket before it: (0, 1).
    """

    lead_in: int = 0
    lead_out: int = 1
    minutes: int = 0
    allowed: Allowed = None
    pickup: Allowed = None

    def __post_init__(self) -> None:
        if min(self.lead_in, self.lead_out, self.minutes) < 0:
            raise PlanningError("The offsets and minutes of a fitting cannot be negative.")


class Pickup(NamedTuple):
    """The bucket of each fitting, and the bucket the ticket can be promised for."""

    fittings: tuple[int, ...]
    due: int


def earliest_pickup(
    calendar: Calendar,
    stages: Iterable[Stage],
    parts: Sequence[int],
    release: int,
    fitting: FittingRule,
) -> Pickup:
    """Fittings and pick-up of a new ticket: the earliest fitting, then the next, then the date.

    ``parts`` are the minutes before the first fitting, between fittings, and after the last:
    one more than there are fittings. Taking each fitting as early as the work before it allows
    gives the earliest pick-up of all choices. The buckets are tried one after the other, since a
    fitting that takes minutes may fit on one day and not on the next. Every other promise is
    kept; an overfull book is settled first, as in `earliest_due`.

    Complexity: O(F (n log n + T)) for F fitting buckets tried.

    Raises
    ------
    NoDayError
        If no allowed bucket holds a fitting.
    PlanningError
        If ``parts`` is empty or negative; and whatever `earliest_due` raises.
    """
    if not parts or min(parts) < 0:
        raise PlanningError("A ticket needs at least one part, and no negative minutes.")
    book = settle(reach_of(calendar, prepare(stages)), stages)[1]
    fittings: list[int] = []
    for part in parts[:-1]:
        bucket = _next_fitting(calendar, book, part, release, fitting)
        book = prepare([*book, *_taken_up(len(fittings), part, release, bucket, fitting)])
        fittings.append(bucket)
        release = bucket + fitting.lead_out
    return Pickup(tuple(fittings), earliest_due(calendar, book, parts[-1], release, fitting.pickup))


def _next_fitting(
    calendar: Calendar, book: PreparedStages, part: int, release: int, fitting: FittingRule
) -> int:
    """First allowed bucket whose fitting, and the part before it, the book has room for."""
    first = release
    if part:
        first = earliest_due(calendar, book, part, release) + fitting.lead_in
    for bucket in allowed_from(fitting.allowed, first):
        if not fitting.minutes:
            return bucket
        if calendar.at(bucket) >= fitting.minutes:
            more = _taken_up(len(book), part, release, bucket, fitting)
            if fits(calendar.reach(max(bucket, book[-1].due if book else 0)), [*book, *more]):
                return bucket
    raise NoDayError(first)


def _taken_up(
    number: int, part: int, release: int, bucket: int, fitting: FittingRule
) -> list[Stage]:
    """The work before a fitting and the fitting itself, as stages of tickets of their own."""
    work, meeting = f"\0work {number}", f"\0fitting {number}"
    stages = [Stage(meeting, meeting, 0, fitting.minutes, bucket, bucket)]
    if part:
        stages.append(Stage(work, work, 0, part, release, bucket - fitting.lead_in))
    return stages
