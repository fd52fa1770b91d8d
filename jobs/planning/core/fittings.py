"""The earliest pick-up when the client comes for fittings in between."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from jobs.planning.core.calendars import Calendar, reach_of
from jobs.planning.core.dates import Allowed, allowed_from, earliest_due
from jobs.planning.core.edf import fits, settle
from jobs.planning.core.errors import NoDayError, PlanningError
from jobs.planning.core.stages import Book, Stage, prepare


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
    calendar: Calendar, book: Book, part: int, release: int, fitting: FittingRule
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
