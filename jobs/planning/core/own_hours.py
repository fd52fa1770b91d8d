"""The least that clients need by a date, and what of the hours that the owner keeps survives it.

Both are read from the latest-possible plan.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from itertools import accumulate
from typing import NamedTuple

from jobs.planning.core.stages import (
    IN_ORDER,
    PlanningError,
    PreparedStages,
    Stage,
    edf,
    last_bucket,
    prepare,
    ready,
    settle,
    spare,
)

Weeks = Sequence[tuple[int, int]]
"""Disjoint stretches of buckets in date order, each (first, last) with both included."""


@dataclass(frozen=True)
class SharedBuckets:
    """Own minutes of each bucket, and the client work (stage id, minutes) beside them."""

    own: tuple[int, ...]
    clients: tuple[tuple[tuple[str, int], ...], ...]


class _Bench:
    """Open client work, bucket by bucket. ``book`` is in due order."""

    def __init__(self, capacity: Sequence[int], book: PreparedStages) -> None:
        self.capacity, self.book = capacity, book
        self.left = [stage.processing for stage in book]
        self.due = [0] * len(capacity)
        self.arriving: list[list[int]] = [[] for _ in capacity]
        for place, stage in enumerate(book):
            self.due[last_bucket(stage)] += stage.processing
            self.arriving[stage.release].append(place)
        self.open = sum(self.left)
        self.waiting: list[int] = []

    def need(self, now: int) -> int:
        """Least client minutes in bucket ``now``, from the work as it stands. O(T)."""
        capacity, due_in, everything = self.capacity, self.due, self.open
        due = need = sum(due_in[: now + 1])
        later = 0
        for bucket in range(now + 1, len(capacity)):
            later += capacity[bucket]
            due += due_in[bucket]
            if due - later > need:
                need = due - later
            elif everything - later <= need:
                break
        return need

    def work(self, now: int, room: int) -> tuple[tuple[str, int], ...]:
        """Up to ``room`` minutes on released stages in due order."""
        for place in self.arriving[now]:
            heappush(self.waiting, place)
        done = []
        while room and self.waiting:
            place = self.waiting[0]
            stage = self.book[place]
            minutes = min(room, self.left[place])
            room -= minutes
            self.left[place] -= minutes
            self.due[last_bucket(stage)] -= minutes
            self.open -= minutes
            done.append((stage.id, minutes))
            if not self.left[place]:
                heappop(self.waiting)
        return tuple(done)


def give_way(
    capacity: Sequence[int], book: PreparedStages, weeks: Weeks, targets: Sequence[int]
) -> SharedBuckets:
    """Own minutes as early as possible up to each week's target, clients in due order.

    In every bucket own time may take what the clients' least need leaves,
    need(t) = max over b >= t of (open work due by b, released or not) - C(t+1, b), found anew
    from the work as it stands. The book's windows have to fit. O(T^2 + n log n).

    Source: J. P. Lehoczky, S. Ramos-Thuel, "An optimal algorithm for scheduling soft-aperiodic
    tasks in fixed-priority preemptive systems", IEEE Real-Time Systems Symposium (1992), for the
    idea (cited from memory); the need is the latest-possible plan of Chetto and Chetto 1989.
    """
    bench = _Bench(capacity, book)
    own: list[int] = []
    clients: list[tuple[tuple[str, int], ...]] = []
    for (first, last), target in zip(weeks, targets, strict=True):
        for now in range(len(own), first):
            own.append(0)
            clients.append(bench.work(now, capacity[now]))
        wanted = target
        for now in range(first, last + 1):
            wants = wanted and capacity[now]
            taken = min(wanted, capacity[now] - bench.need(now)) if wants else 0
            wanted -= taken
            own.append(taken)
            clients.append(bench.work(now, capacity[now] - taken))
    return SharedBuckets(tuple(own), tuple(clients))


def check_weeks(weeks: Weeks, buckets: int) -> None:
    """Raise PlanningError unless the weeks are disjoint, in order and inside the capacity."""
    before = -1
    for first, last in weeks:
        if not before < first <= last < buckets:
            raise PlanningError(f"Week {first} to {last} overlaps, runs backwards or leaves.")
        before = last


OWN = "~own"
"""Ticket of own time. It sorts behind numbers and letters, so that clients come first on ties."""


@dataclass(frozen=True)
class KeptWeek:
    """Of ``target`` own minutes in ``first`` to ``last``, ``kept`` survive and ``lost`` do not.

    ``capacity`` is the bench time of the week. ``by_bucket`` says where the kept minutes lie if
    they are taken as early as they can be. ``more`` is what makes with a day take beyond the
    target, ``on_days`` what survives of own minutes put on days of the week, beside the target.
    """

    first: int
    last: int
    target: int
    kept: int
    lost: int
    capacity: int
    by_bucket: tuple[int, ...]
    more: int = 0
    on_days: int = 0


def share_stages(weeks: Weeks, minutes: int | Sequence[int]) -> list[Stage]:
    """One stage per week whose window is the week, for a week's own ``minutes``.

    With one pair of hands, "at least so many minutes of this week are mine" is exactly one more
    job; a smaller capacity on every day, or a weekly budget for clients, is not. Weeks of no
    minutes are left out. O(number of weeks).

    Raises PlanningError if the weeks overlap, or numbers of weeks and minutes differ.
    """
    check_weeks(weeks, max((last for _, last in weeks), default=0) + 1)
    return [
        Stage(f"{OWN} {first}-{last}", f"{OWN} {first}", 0, target, first, last)
        for (first, last), target in zip(weeks, targets(weeks, minutes), strict=True)
        if target
    ]


def targets(weeks: Weeks, minutes: int | Sequence[int]) -> list[int]:
    """One target per week. Raises PlanningError for negative ones or a wrong number of them."""
    each = [minutes] * len(weeks) if isinstance(minutes, int) else list(minutes)
    if len(each) != len(weeks) or min(each, default=0) < 0:
        raise PlanningError("Each week needs one target of 0 minutes or more.")
    return each


@dataclass(frozen=True)
class OwnPlan:
    """What survives of the own hours, week by week, and the stages that hold it.

    ``stages`` are for a plan: ``made`` says which make a stage is sewn for, the others are own time
    for nothing in particular. ``shares`` hold the same minutes for questions about other dates:
    no make is tied to a week in them, so a newcomer may move one to the own hours of another. In
    `KeptWeek.kept` makes count like any own time, up to the week's target. ``makes`` are the makes
    with the minutes that find room until their day.
    """

    weeks: tuple[KeptWeek, ...]
    stages: tuple[Stage, ...]
    shares: tuple[Stage, ...]
    made: dict[str, str]
    makes: tuple[Stage, ...]

    @property
    def survives(self) -> tuple[int, ...]:
        """All own minutes of each week: of its target, beyond it, and put on its days."""
        return tuple(week.kept + week.more + week.on_days for week in self.weeks)


def own_plan(
    capacity: Sequence[int],
    stages: Iterable[Stage],
    weeks: Weeks,
    target: int | Sequence[int],
    *,
    makes: Sequence[Stage] = (),
    days: Sequence[Stage] = (),
) -> OwnPlan:
    """The own minutes that survive in each week when no promise may break, nearest week first.

    Any order of the weeks loses the same smallest total; nearest first fixes the split. Found by
    slack stealing, O(T^2 + n log n), once more for each make that comes on top. An overfull book
    is settled first: late stages are due when earliest-due-first finishes them.

    ``makes`` are own work with a day, each released now. A make is cut to what clients and the
    makes due before it leave room for. Its minutes are the first of the own hours that survive
    until its day, those of the nearest week first, and never of hours that do not survive. What
    these cannot hold comes on top, before any other own time.

    ``days`` are own minutes put on days by hand, each a window of its own beside the targets. They
    come after the clients and before all other own time: each, in due order, is cut to what is left
    of its window.

    Source: the reachable own minutes per week form a polymatroid (contraction of a flow
    polymatroid; A. Federgruen, H. Groenevelt, Management Science 32 (1986), 341-349), over which
    the greedy choice is the best. By its exchange property what comes on top until a day takes
    none of the own time until that day.

    Raises PlanningError if the weeks overlap or leave the capacity; else as `edf` does.
    """
    longer, settled = settle(capacity, stages)
    check_weeks(weeks, len(capacity))
    wanted = targets(weeks, target)
    on_days = list(_with_room(longer, settled, days))
    if on_days:
        settled = prepare([*settled, *on_days])
    inside: list[Stage] = []
    on_top: list[Stage] = []
    own = give_way(longer, settled, weeks, wanted).own
    held = tuple(_with_room(longer, settled, makes))
    for make in held:
        claimed = sum(stage.processing for stage in inside)
        part = min(make.processing, max(0, sum(own[: make.due + 1]) - claimed))
        inside.append(replace(make, processing=part))
        if part < make.processing:
            on_top.append(replace(make, processing=make.processing - part))
            hard = prepare([*settled, *on_top])
            own = give_way(longer, hard, weeks, wanted).own
    within = _by_week([*own, *[0] * (len(longer) - len(own))], inside, weeks, inside)
    each = [sum(own[first : last + 1]) for first, last in weeks]
    for piece in within:
        each[piece.place] -= piece.stage.processing
    loose = share_stages(weeks, each)
    beyond: list[_Part] = []
    if on_top:
        others = [*settled, *loose, *(piece.stage for piece in within)]
        beyond = _by_week(longer, [*others, *on_top], weeks, on_top, "more ")
    more = [0] * (len(weeks) + 1)
    for piece in beyond:
        more[piece.place] += piece.stage.processing
    totals = [sum(own[a : z + 1]) + extra for (a, z), extra in zip(weeks, more, strict=False)]
    return OwnPlan(
        weeks=tuple(
            KeptWeek(
                first=first,
                last=last,
                target=goal,
                kept=min(goal, total),
                lost=max(0, goal - total),
                capacity=sum(capacity[first : last + 1]),
                by_bucket=own[first : last + 1],
                more=max(0, total - goal),
                on_days=sum(s.processing for s in on_days if first <= s.due <= last),
            )
            for (first, last), goal, total in zip(weeks, wanted, totals, strict=True)
        ),
        stages=(*on_days, *(piece.stage for piece in (*within, *beyond)), *loose),
        shares=(
            *on_days,
            *on_top,
            *_shares(weeks, [sum(own[a : z + 1]) for a, z in weeks], inside),
        ),
        made={piece.stage.id: piece.make for piece in (*within, *beyond)},
        makes=held,
    )


def _shares(weeks: Weeks, kept: Sequence[int], makes: Sequence[Stage]) -> Iterator[Stage]:
    """Each week's own minutes, as many of them due earlier as the makes need by their days.

    The own minutes until a make's day have to hold it and those due before it. Earlier weeks hold
    all of theirs, so that only what is still missing is due by that day in its own week.
    """
    before = 0
    for (first, last), minutes in zip(weeks, kept, strict=True):
        held = 0
        for make in (make for make in makes if first <= make.due < last):
            needed = sum(other.processing for other in makes if other.due <= make.due) - before
            if (more := min(needed, minutes) - held) > 0:
                name = f"{OWN} {first}-{make.due}"
                yield Stage(name, name, 0, more, first, make.due)
                held += more
        before += minutes
        yield from share_stages([(first, last)], minutes - held)


class _Part(NamedTuple):
    """What a week holds of a make; ``place`` is the week's, -1 outside all weeks."""

    stage: Stage
    make: str
    place: int


def _by_week(
    capacity: Sequence[int],
    stages: Iterable[Stage],
    weeks: Weeks,
    makes: Sequence[Stage],
    label: str = "",
) -> list[_Part]:
    """The makes cut into weeks where earliest-due-first over all ``stages`` works them."""
    plan = edf(capacity, stages)
    stretches = enumerate(weeks)
    week_of = {b: place for place, (a, z) in stretches for b in range(a, z + 1)}
    minutes: dict[tuple[str, int], int] = defaultdict(int)
    for bucket, row, worked in plan.pieces:
        minutes[plan.stages[row].id, week_of.get(bucket, -1)] += worked
    parts = []
    for make in makes:
        for place, (first, last) in enumerate([*weeks, (0, make.due)]):
            where = place if place < len(weeks) else -1
            if worked := minutes[make.id, where]:
                name = f"{make.id} {label}{first}-{last}"
                part = Stage(name, name, 0, worked, max(first, make.release), min(last, make.due))
                parts.append(_Part(part, make.id, where))
    return parts


def _with_room(
    longer: Sequence[int], settled: PreparedStages, makes: Iterable[Stage]
) -> Iterator[Stage]:
    """Own work in due order, each cut to what clients and those before it leave of its window."""
    book: list[Stage] = list(settled)
    for make in sorted(makes, key=IN_ORDER):
        room = spare(longer, book, make.release)[make.due] if make.due >= 0 else 0
        if minutes := min(make.processing, max(0, room)):
            book.append(replace(make, processing=minutes))
            yield book[-1]


def own_minutes(
    capacity: Sequence[int],
    stages: Iterable[Stage],
    weeks: Weeks,
    target: int | Sequence[int],
    *,
    makes: Sequence[Stage] = (),
) -> list[int]:
    """`KeptWeek.kept` of `own_plan`. Same complexity and errors."""
    return [week.kept for week in own_plan(capacity, stages, weeks, target, makes=makes).weeks]


@dataclass(frozen=True)
class MustDo:
    """At least ``minutes`` of client work have to be done by the end of bucket ``by``.

    The reason: ``demand`` minutes are due by ``binding_due``, and only ``later_capacity`` minutes
    are left after ``by`` until then; ``minutes`` is the difference. ``binding_due`` is None if
    nothing has to be done. ``capacity`` is the bench time until ``by`` and ``free`` what the
    minutes leave of it. ``plan`` is workable as it stands: for each bucket up to ``by`` the
    (stage id, minutes). ``relaxed`` says that the book is overfull and late stages were taken as
    due when earliest-due-first finishes them.
    """

    by: int
    minutes: int
    binding_due: int | None
    demand: int
    later_capacity: int
    capacity: int
    free: int
    plan: tuple[tuple[tuple[str, int], ...], ...]
    relaxed: bool


def must_do(capacity: Sequence[int], stages: Iterable[Stage], by: int) -> MustDo:
    """The least work by the end of bucket ``by`` that leaves every promise within reach.

    The maximum over b >= by of D(b) - C(by+1, b): work due in or before b, future releases
    included, less the bench time from by+1 to b. ``free`` is what may be spent on anything else
    up to ``by`` - for stretches that begin now; for later weeks ask `own_minutes`.

    Ties: the earliest binding due bucket. O(n log n + T * by).

    Source: the latest-possible plan of H. Chetto, M. Chetto, "Some results of the earliest
    deadline scheduling algorithm", IEEE Transactions on Software Engineering 15 (1989),
    1261-1269. Raises IndexError if ``by`` is not a bucket of ``capacity``; else as `edf` does.
    """
    if not 0 <= by < len(capacity):
        raise IndexError(f"Bucket {by} is not among the {len(capacity)} given.")
    book = ready(capacity, stages)
    longer, settled = settle(capacity, book)
    due = list(accumulate(_minutes_due(longer, settled)))
    later, minutes, binding = 0, due[by], by
    for bucket in range(by + 1, len(longer)):
        later += longer[bucket]
        if due[bucket] - later > minutes:
            minutes, binding = due[bucket] - later, bucket
    held = sum(capacity[: by + 1])
    return MustDo(
        by=by,
        minutes=minutes,
        binding_due=binding if minutes else None,
        demand=due[binding],
        later_capacity=sum(longer[by + 1 : binding + 1]),
        capacity=held,
        free=held - minutes,
        plan=give_way(longer, settled, [(0, by)], [held]).clients,
        relaxed=settled is not book,
    )


def _minutes_due(capacity: Sequence[int], book: PreparedStages) -> list[int]:
    due = [0] * len(capacity)
    for stage in book:
        if stage.due > 0:
            due[stage.due] += stage.processing
        else:
            due[0] += stage.processing
    return due
