"""What the planner is given: stages of work and bench minutes by bucket; and what it refuses."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import accumulate, groupby
from operator import attrgetter


class PlanningError(ValueError):
    """The question cannot be answered as it was put."""


class WindowError(PlanningError):
    """A stage may not be worked before ``release`` but is due on ``due``, which comes earlier.

    Usually a fitting after the promise, or work that still waits when it has to be finished.
    """

    def __init__(self, ticket: str, stage: str, release: int, due: int) -> None:
        super().__init__(
            f"Stage {stage} of ticket {ticket} cannot be started before bucket {release} "
            f"but is due in bucket {due}."
        )
        self.ticket, self.stage, self.release, self.due = ticket, stage, release, due


class HorizonError(PlanningError):
    """A window ends after the last bucket of the capacity that was given."""

    def __init__(self, stage: str, due: int, buckets: int) -> None:
        super().__init__(
            f"{stage} is due in bucket {due}, but the capacity given ends after {buckets} buckets."
        )
        self.stage, self.due, self.buckets = stage, due, buckets


class NoBenchTimeError(PlanningError):
    """The calendar never holds so many minutes, however far one looks."""

    def __init__(self, minutes: int, after: int) -> None:
        super().__init__(f"The calendar never holds {minutes} minutes from bucket {after} on.")
        self.minutes, self.after = minutes, after


class NoDayError(PlanningError):
    """No allowed bucket comes at or after ``after`` in the buckets that were looked at."""

    def __init__(self, after: int) -> None:
        super().__init__(f"No allowed bucket was found at or after bucket {after}.")
        self.after = after


@dataclass(frozen=True, slots=True)
class Stage:
    """A piece of one ticket's work with a window of its own.

    ``processing`` is whole minutes left. The stage may be worked in the buckets ``release`` to
    ``due``, both included; bucket 0 is now, and a negative ``due`` is a promise already past.
    Stages of a ticket are worked in the order of ``seq``; equal numbers have no order.
    """

    id: str
    ticket: str
    seq: int
    processing: int
    release: int
    due: int


class PreparedStages(list[Stage]):
    """Stages as `prepare` leaves them. Copies and sums of it are plain lists again."""


IN_ORDER = attrgetter("due", "ticket", "seq", "id")


def last_bucket(stage: Stage) -> int:
    """The bucket a stage has to be done by: its due bucket, or now if that is past."""
    return max(stage.due, 0)


def prepare(stages: Iterable[Stage]) -> PreparedStages:
    """Return the stages that need minutes, in due order, with agreeable windows.

    Along a ticket, releases become the running maximum and due buckets the backward minimum.
    That changes neither feasibility nor the maximum lateness, and lets earliest-due-first keep
    the order of the stages by itself. Stages without minutes pass their window on and are then
    left out. Releases in the past become 0.

    Ties: (due, ticket, seq, id). Complexity: O(n log n); O(1) for a book already prepared.

    Raises
    ------
    WindowError
        If a stage's release comes after its due bucket, by itself or through its ticket. A due
        bucket in the past is no error as long as the work can start now.
    PlanningError
        If two stages share an id or one has negative minutes.

    Notes
    -----
    K. R. Baker, E. L. Lawler, J. K. Lenstra, A. H. G. Rinnooy Kan, "Preemptive scheduling of a
    single machine to minimize maximum cost subject to release dates and precedence constraints",
    Operations Research 31 (1983), 381-386.
    """
    if isinstance(stages, PreparedStages):
        return stages
    rows = sorted(stages, key=IN_ORDER)
    if len({stage.id for stage in rows}) < len(rows):
        raise PlanningError("Two stages have the same id.")
    rows = rows if _is_agreeable(rows) else sorted(agreeable(rows), key=IN_ORDER)
    return PreparedStages([stage for stage in rows if stage.processing])


def agreeable(stages: Iterable[Stage]) -> list[Stage]:
    """Windows that do not contradict the order of the ticket, stages without minutes included.

    Raises WindowError and PlanningError as `prepare` does.
    """
    tickets: dict[str, list[Stage]] = defaultdict(list)
    for stage in stages:
        tickets[stage.ticket].append(stage)
    return [stage for ticket in tickets.values() for stage in _untangle(ticket)]


def _is_agreeable(rows: list[Stage]) -> bool:
    """Whether stages in due order need no change. Raises for windows and minutes below zero."""
    latest: dict[str, Stage] = {}
    fine = True
    for stage in rows:
        if stage.release > stage.due or stage.processing < 0:
            _check(stage)
        before = latest.get(stage.ticket)
        if stage.release < 0 or (
            before is not None and (before.seq > stage.seq or before.release > stage.release)
        ):
            fine = False
        latest[stage.ticket] = stage
    return fine


def _check(stage: Stage) -> None:
    if stage.release > stage.due and stage.release > 0:
        raise WindowError(stage.ticket, stage.id, stage.release, stage.due)
    if stage.processing < 0:
        raise PlanningError(f"Stage {stage.id} has {stage.processing} minutes.")


def _untangle(ticket: list[Stage]) -> list[Stage]:
    """One ticket's stages, each group of equal ``seq`` between its neighbours' windows."""
    steps = [list(group) for _, group in groupby(sorted(ticket, key=_SEQ), key=_SEQ)]
    starts: dict[str, int] = {}
    earliest = 0
    for step in steps:
        starts |= {stage.id: max(stage.release, earliest) for stage in step}
        earliest = max(starts[stage.id] for stage in step)
    ends: dict[str, int] = {}
    latest = max(stage.due for stage in ticket)
    for step in reversed(steps):
        ends |= {stage.id: min(stage.due, latest) for stage in step}
        latest = min(ends[stage.id] for stage in step)
    changed = [replace(stage, release=starts[stage.id], due=ends[stage.id]) for stage in ticket]
    for stage in changed:
        _check(stage)
    return changed


_SEQ = attrgetter("seq")


FARTHEST = 20_000
"""Buckets after which looking ahead is given up: more than twenty years of double days."""


@dataclass(frozen=True)
class Calendar:
    """Whole bench minutes of each bucket from now on.

    ``capacity[0]`` is what is left of the current bucket. Bucket ``len(capacity) + i`` holds
    ``tail[i % len(tail)]`` minutes: the tail starts on the weekday after the last given bucket.
    An empty tail means that nothing follows.

    Raises PlanningError for negative minutes.
    """

    capacity: tuple[int, ...]
    tail: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if min(self.capacity, default=0) < 0 or min(self.tail, default=0) < 0:
            raise PlanningError("A bucket cannot hold fewer than 0 minutes.")

    def at(self, bucket: int) -> int:
        """Minutes of one bucket, given or in the tail."""
        after = bucket - len(self.capacity)
        if after < 0:
            return self.capacity[bucket]
        return self.tail[after % len(self.tail)] if self.tail else 0

    def extended(self, buckets: int) -> "Calendar":
        """The same calendar with at least so many buckets given; the weekdays stay in step."""
        extra = buckets - len(self.capacity)
        if extra <= 0:
            return self
        if not self.tail:
            return Calendar(self.capacity + (0,) * extra)
        weeks, over = divmod(extra, len(self.tail))
        added = self.tail * weeks + self.tail[:over]
        return Calendar(self.capacity + added, self.tail[over:] + self.tail[:over])

    def reach(self, last: int, *, minutes: int = 0, after: int = 0) -> tuple[int, ...]:
        """Capacity up to bucket ``last`` and on until ``after`` onwards holds ``minutes``.

        Never shorter than ``capacity``. O(T). Raises NoBenchTimeError if the minutes are not
        found within `FARTHEST` buckets, HorizonError if ``last`` itself lies further away.
        """
        buckets = max(last + 1, after + 1, len(self.capacity))
        if buckets > FARTHEST:
            raise HorizonError("A stage", buckets - 1, FARTHEST)
        missing = minutes - sum(self.extended(buckets).capacity[after:buckets])
        if missing > 0:
            buckets += self._buckets_for(missing, self.extended(buckets).tail, minutes, after)
        if buckets > FARTHEST:
            raise NoBenchTimeError(minutes, after)
        return self.extended(buckets).capacity

    @staticmethod
    def _buckets_for(missing: int, tail: tuple[int, ...], minutes: int, after: int) -> int:
        if not sum(tail):
            raise NoBenchTimeError(minutes, after)
        weeks = (missing - 1) // sum(tail)
        rest = missing - weeks * sum(tail)
        full = next(i for i, held in enumerate(accumulate(tail), start=1) if held >= rest)
        return weeks * len(tail) + full


def reach_of(
    calendar: Calendar, stages: Iterable[Stage], *, extra: int = 0, after: int = 0
) -> tuple[int, ...]:
    """Capacity long enough to finish all stages, and ``extra`` minutes from ``after`` on.

    Long enough however late they are begun. O(n + T). Raises NoBenchTimeError if the calendar
    never holds them.
    """
    rows = list(stages)
    latest = max([stage.release for stage in rows], default=0)
    last = max([stage.due for stage in rows], default=0)
    minutes = sum([stage.processing for stage in rows]) + extra
    after = max(after, latest)
    return calendar.reach(max(last, after), minutes=minutes, after=after)
