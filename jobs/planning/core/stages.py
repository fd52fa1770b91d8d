"""What the planner is given, and the one plan from which every answer is read.

Given are stages of work and bench minutes by bucket; what cannot be answered is refused. The plan
is earliest due first (EDF): the loop below it lets stages in due order take the earliest minutes
left. A fixed order of rank makes that the same as working, in every bucket, on the first-ranked
open stage. Full buckets are skipped through a union-find list (``root``), so that a book of n
stages takes O((n + T) log T) at the most, and n + T steps as a rule.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate, groupby, islice
from operator import attrgetter, sub


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


Pieces = list[tuple[int, int, int]]
"""(bucket, place in the book, minutes), stage by stage."""


def fill(
    capacity: Sequence[int],
    book: Sequence[Stage],
    minutes: Sequence[int] | None = None,
    *,
    drop_late: bool = False,
) -> tuple[Pieces, list[tuple[int, int]]]:
    """The pieces of the plan, and what found no room as (place, minutes).

    ``minutes`` replaces the stages' own; with ``drop_late`` nothing is worked after its due
    bucket. Stages have to be in due order, released before the capacity ends.
    """
    left, root = list(capacity), list(range(len(capacity) + 1))
    pieces: Pieces = []
    missed: list[tuple[int, int]] = []
    for place, stage in enumerate(book):
        need = stage.processing if minutes is None else minutes[place]
        stop = max(stage.due, 0) if drop_late else len(left) - 1
        bucket = stage.release
        while need:
            while (beyond := root[bucket]) != bucket:
                root[bucket] = bucket = root[beyond]
            if bucket > stop:
                missed.append((place, need))
                break
            room = left[bucket]
            if room > need:
                left[bucket] = room - need
                pieces.append((bucket, place, need))
                break
            root[bucket] = bucket + 1
            if room:
                pieces.append((bucket, place, room))
                need -= room
    return pieces, missed


def keeps(capacity: Sequence[int], book: PreparedStages) -> bool:
    """Whether all windows fit: `fill` without a record, for the question that is asked most."""
    left, root = list(capacity), list(range(len(capacity) + 1))
    for stage in book:
        need, bucket, stop = stage.processing, stage.release, stage.due
        while need:
            while (beyond := root[bucket]) != bucket:
                root[bucket] = bucket = root[beyond]
            if bucket > stop and bucket:
                return False
            room = left[bucket]
            if room > need:
                left[bucket] = room - need
                break
            root[bucket] = bucket = bucket + 1
            need -= room
    return True


@dataclass(frozen=True)
class Plan:
    """What earliest-due-first does with a book. All minutes are whole.

    ``pieces`` are (bucket, place in ``stages``, minutes), stage by stage; ``stages`` are in due
    order. There are at most n + T - 1 pieces (stages plus buckets).
    """

    capacity: tuple[int, ...]
    stages: tuple[Stage, ...]
    pieces: tuple[tuple[int, int, int], ...]

    @property
    def feasible(self) -> bool:
        """Whether every stage is finished inside its window (a past due bucket counts as now)."""
        return not any(self.overdue)

    @cached_property
    def allocation(self) -> tuple[tuple[tuple[str, int], ...], ...]:
        """For each bucket the (stage id, minutes) worked in it, in working order."""
        days: list[list[tuple[str, int]]] = [[] for _ in self.capacity]
        for bucket, place, minutes in self.pieces:
            days[bucket].append((self.stages[place].id, minutes))
        return tuple(tuple(day) for day in days)

    @cached_property
    def unfinished(self) -> dict[str, int]:
        """Minutes that the capacity given has no room for, by stage id; mostly empty."""
        left = [stage.processing for stage in self.stages]
        for _, place, minutes in self.pieces:
            left[place] -= minutes
        return {s.id: rest for s, rest in zip(self.stages, left, strict=True) if rest}

    @cached_property
    def completion(self) -> dict[str, int | None]:
        """Bucket in which each stage is finished; None for `unfinished` ones."""
        last: dict[str, int | None] = {}
        for bucket, place, _ in self.pieces:
            last[self.stages[place].id] = bucket
        return last | dict.fromkeys(self.unfinished)

    @cached_property
    def overdue(self) -> tuple[int, ...]:
        """Minutes due in or before each bucket that are still open at its end.

        Equals max(0, max over a of D(a, b) - C(a, b)) for each bucket b: demand of the windows
        inside a..b minus capacity of a..b.
        """
        steps = [0] * (len(self.capacity) + 1)
        for bucket, place, minutes in self.pieces:
            due = self.stages[place].due
            if bucket > due and bucket:
                steps[max(due, 0)] += minutes
                steps[bucket] -= minutes
        if self.unfinished:
            for stage in self.stages:
                steps[last_bucket(stage)] += self.unfinished.get(stage.id, 0)
        return tuple(accumulate(steps[:-1]))


def edf(capacity: Sequence[int], stages: Iterable[Stage]) -> Plan:
    """Work, in every bucket, on the open released stage with the smallest (due, ticket, seq, id).

    Preemptive earliest-due-first keeps every window whenever any plan does, minimises the
    maximum lateness, and respects the order of stages within a ticket (their windows being
    agreeable, see `prepare`). Worked on past its due bucket, a stage keeps its rank.

    Complexity: O(n log n + T).

    Raises
    ------
    HorizonError
        If a stage is due after the last bucket given.
    PlanningError
        For negative capacity, and whatever `prepare` refuses.

    Notes
    -----
    W. A. Horn, "Some simple scheduling algorithms", Naval Research Logistics Quarterly 21
    (1974), 177-185. The interval form of `Plan.overdue` is the processor demand criterion of
    S. K. Baruah, L. E. Rosier, R. R. Howell, Real-Time Systems 2 (1990), 301-324.
    """
    book = ready(capacity, stages)
    return Plan(tuple(capacity), tuple(book), tuple(fill(capacity, book)[0]))


def ready(capacity: Sequence[int], stages: Iterable[Stage]) -> PreparedStages:
    """The prepared book, checked against the capacity. Raises as `edf` does."""
    book = prepare(stages)
    if book and last_bucket(book[-1]) >= len(capacity):
        raise HorizonError(f"Stage {book[-1].id}", book[-1].due, len(capacity))
    if min(capacity, default=0) < 0:
        raise PlanningError("A bucket cannot hold fewer than 0 minutes.")
    return book


def fits(capacity: Sequence[int], stages: Iterable[Stage]) -> bool:
    """Whether every window can be kept. O(n log n + T). Raises as `edf` does."""
    return keeps(capacity, ready(capacity, stages))


def settle(
    capacity: Sequence[int], stages: Iterable[Stage]
) -> tuple[Sequence[int], PreparedStages]:
    """A book whose windows can all be kept: late stages are due when the plan finishes them.

    A feasible book and its capacity come back as they are. Otherwise each late stage gets the
    bucket in which earliest-due-first finishes it; what the capacity has no room for is given
    one more bucket of just that size. O(n log n + T). Raises as `edf` does.
    """
    book = ready(capacity, stages)
    if keeps(capacity, book):
        return capacity, book
    pieces, missed = fill(capacity, book)
    ends = {place: bucket for bucket, place, _ in pieces}
    ends |= {place: len(capacity) for place, _ in missed}
    moved = [replace(s, due=max(s.due, ends[place])) for place, s in enumerate(book)]
    more = [sum(rest for _, rest in missed)] if missed else []
    return [*capacity, *more], PreparedStages(sorted(moved, key=IN_ORDER))


def spare(capacity: Sequence[int], stages: Iterable[Stage], release: int = 0) -> list[int]:
    """Largest extra job, in minutes, that fits into ``release`` to d, for every bucket d.

    S(d) = min over b >= d of C(release, b) - R(b), where R(b) is the work due in or before b
    that is still open when earliest-due-first comes to ``release``, or arrives later. It never
    falls with d, so the earliest date for p minutes is the first d with S(d) >= p. 0 before
    ``release``. An overfull book is settled first (late stages are due when the plan finishes
    them), so that a newcomer delays nobody further. O(n log n + T).

    Source: processor demand criterion, Baruah, Rosier, Howell 1990. Raises IndexError if
    ``release`` is not a bucket of ``capacity``; else as `edf` does.
    """
    free = free_until(*settle(capacity, stages), release)
    return ([0] * release + list(accumulate(reversed(free), min))[::-1])[: len(capacity)]


def free_until(capacity: Sequence[int], book: PreparedStages, release: int) -> list[int]:
    """C(release, b) - R(b) for every b from ``release`` on, the book's windows being known to fit.

    `spare` is the least of these from its date on. O(n + T).
    """
    if not 0 <= release < len(capacity):
        raise IndexError(f"Bucket {release} is not among the {len(capacity)} given.")
    due = [0] * len(capacity)
    for stage, minutes in zip(book, open_at(capacity, book, release), strict=True):
        if stage.due > 0:
            due[stage.due] += minutes
        else:
            due[0] += minutes
    demand = islice(accumulate(due), release, None)
    return list(map(sub, accumulate(capacity[release:]), demand))


def open_at(capacity: Sequence[int], book: PreparedStages, release: int) -> list[int]:
    """Minutes of each stage still open when earliest-due-first comes to bucket ``release``."""
    left = [stage.processing for stage in book]
    if release:
        before = [place for place, stage in enumerate(book) if stage.release < release]
        pieces, _ = fill(capacity[:release], [book[place] for place in before])
        for _, place, minutes in pieces:
            left[before[place]] -= minutes
    return left
