"""The least client work by a date: how much, why so much, and what exactly."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate

from jobs.planning.core.earliest_due_first import ready, settle
from jobs.planning.core.own_hours import give_way
from jobs.planning.core.stages import PreparedStages, Stage


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
