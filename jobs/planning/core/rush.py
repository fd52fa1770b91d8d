"""What a rush job costs: own hours if it fits, other promises if it does not."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from operator import sub

from jobs.planning.core.own_hours import KeptWeek, OwnPlan, Weeks, own_minutes, own_plan
from jobs.planning.core.stages import (
    Calendar,
    PreparedStages,
    Stage,
    edf,
    fits,
    last_bucket,
    prepare,
    reach_of,
)
from jobs.planning.core.too_much import Bottleneck, bottleneck, lateness


@dataclass(frozen=True)
class LateStage:
    """``stage`` of ``ticket`` finishes ``late`` buckets after it is due; ``before`` without it."""

    stage: str
    ticket: str
    late: int
    before: int


@dataclass(frozen=True)
class Impact:
    """What changes if the rush is taken for its day.

    ``fits``: every promise is kept. ``possible``: the rush can be done by its day if all others
    give way. ``kept_before`` and ``kept_after`` are the own minutes of each week, ``lost`` those
    that the rush takes of them: minutes of makes beyond the targets, which only move to another
    week, are not lost. ``free_lost`` is the difference of all the time that clients leave.
    ``short`` are the makes that lose minutes until their day. ``slip`` is the
    fewest buckets that all the others have to be moved by (0 if it fits, None if it is not
    possible); ``late`` lists the stages late at that slip, and ``bottleneck`` is the overfull
    window. Beside a slip a week can gain, since later dates leave it more room. Where the rush is
    not possible, the losses are empty and ``bottleneck`` is the rush alone.
    """

    fits: bool
    possible: bool
    kept_before: tuple[int, ...]
    kept_after: tuple[int, ...]
    lost: tuple[int, ...]
    free_lost: tuple[int, ...]
    short: tuple[tuple[str, int], ...]
    slip: int | None
    late: tuple[LateStage, ...]
    bottleneck: Bottleneck | None


def rush_impact(
    calendar: Calendar,
    stages: Iterable[Stage],
    rush: Stage | Sequence[Stage],
    weeks: Weeks,
    target: int | Sequence[int],
    *,
    makes: Sequence[Stage] = (),
    days: Sequence[Stage] = (),
) -> Impact:
    """Compare the book without and with ``rush``, whose due bucket is kept at any price.

    If all windows fit, only own time is lost: the differences of `own_minutes`, week by week,
    with the same rule and order before and after. Otherwise the others' due buckets are moved by
    the smallest common number of buckets, found by bisection since a larger one always fits too,
    and the late stages are read from earliest-due-first at that number; own minutes are then
    those beside these later dates. ``makes`` and ``days`` count as own time, as in `own_plan`, with
    what they take beyond a week's target.

    Ties: (due, ticket, seq, id). Complexity: O(T^2 + n log n + (n log n + T) log T).
    Optimality as for `lateness`. Raises as `own_plan` and `lateness` do.
    """
    book = prepare(stages)
    new = prepare([rush] if isinstance(rush, Stage) else rush)
    both = prepare([*book, *new])
    weeks_end = max((last for _, last in weeks), default=0)
    capacity = calendar.reach(max(len(reach_of(calendar, both)) - 1, weeks_end))
    overfull = bottleneck(capacity, both)
    if overfull and not fits(capacity, new):
        return Impact(False, False, (), (), (), (), (), None, (), bottleneck(capacity, new))
    slip = 0
    late: tuple[LateStage, ...] = ()
    if overfull:
        slip, late = give_room(calendar, book, new)
    ends = {stage.stage: stage.late for stage in late}
    after = [replace(s, due=s.due + ends.get(s.id, 0)) for s in both]
    whole = [sum(capacity[first : last + 1]) for first, last in weeks]
    own_before = own_plan(capacity, book, weeks, target, makes=makes, days=days)
    own_after = own_plan(capacity, after, weeks, target, makes=makes, days=days)
    kept_before, kept_after = own_before.survives, own_after.survives
    free_before = own_minutes(capacity, book, weeks, whole)
    free_after = own_minutes(capacity, after, weeks, whole)
    return Impact(
        fits=overfull is None,
        possible=True,
        kept_before=kept_before,
        kept_after=kept_after,
        lost=_lost(own_before.weeks, own_after.weeks),
        free_lost=tuple(map(sub, free_before, free_after)),
        short=_short(own_before, own_after),
        slip=slip,
        late=late,
        bottleneck=overfull,
    )


def _lost(before: Sequence[KeptWeek], after: Sequence[KeptWeek]) -> tuple[int, ...]:
    """What the targets lose in each week, and what makes beyond them lose in all weeks together."""
    beyond = max(0, sum(week.more for week in before) - sum(week.more for week in after))
    lost = []
    for old, new in zip(before, after, strict=True):
        taken = min(beyond, max(0, old.more - new.more))
        beyond -= taken
        lost.append(old.kept + old.on_days - new.kept - new.on_days + taken)
    return tuple(lost)


def _short(before: OwnPlan, after: OwnPlan) -> tuple[tuple[str, int], ...]:
    held = {make.id: make.processing for make in after.makes}
    rows = ((make.id, make.processing - held.get(make.id, 0)) for make in before.makes)
    return tuple((make, minutes) for make, minutes in rows if minutes > 0)


def give_room(
    calendar: Calendar, book: PreparedStages, new: PreparedStages
) -> tuple[int, tuple[LateStage, ...]]:
    """Fewest buckets by which all of ``book`` has to move for ``new``, and the stages late then.

    ``new`` has to fit alone, and not beside the book. Bisection, since a larger number always fits
    too; the late stages are those of earliest-due-first at that number.
    O((n log n + T) log T).
    """
    low, high = 1, len(reach_of(calendar, prepare([*book, *new])))
    while low < high:
        slip = (low + high) // 2
        moved = _moved(book, new, slip)
        if fits(calendar.reach(moved[-1].due), moved):
            high = slip
        else:
            low = slip + 1
    return low, _late_at(calendar, book, new, low)


def _moved(book: PreparedStages, new: PreparedStages, slip: int) -> PreparedStages:
    """All stages in one book, those of ``book`` due ``slip`` buckets later."""
    return prepare([*(replace(s, due=last_bucket(s) + slip) for s in book), *new])


def _late_at(
    calendar: Calendar, book: PreparedStages, new: PreparedStages, slip: int
) -> tuple[LateStage, ...]:
    """Stages that earliest-due-first finishes late when ``book`` is due ``slip`` later."""
    before = lateness(calendar, book)
    moved = _moved(book, new, slip)
    ends = edf(calendar.reach(moved[-1].due), moved).completion
    after = {s.id: (ends[s.id] or 0) - s.due for s in book}
    return tuple(
        LateStage(s.id, s.ticket, after[s.id], before[s.id]) for s in book if after[s.id] > 0
    )
