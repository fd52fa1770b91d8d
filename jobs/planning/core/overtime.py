"""The least extra bench time that keeps every promise, and where to put it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jobs.planning.core.edf import ready
from jobs.planning.core.fill import fill
from jobs.planning.core.stages import Stage, last_bucket


@dataclass(frozen=True)
class Overtime:
    """``minutes`` more keep every window if worked ``by_bucket``: (bucket, minutes) by date.

    ``demand`` is all the work of the book and ``on_time`` the part that fits without overtime.
    """

    minutes: int
    by_bucket: tuple[tuple[int, int], ...]
    demand: int
    on_time: int


def overtime(capacity: Sequence[int], stages: Iterable[Stage]) -> Overtime:
    """The least extra minutes that keep every window, on the due buckets where they are missed.

    Earliest-due-first that lets work go once its due bucket has passed does the most minutes on
    time, as a maximum flow would. Adding the minutes let go to those due buckets is a complete
    repair, and no smaller one exists. Past due buckets count as now. O(n log n + T).

    Source: F. Glover, "Maximum matching in a convex bipartite graph", Naval Research Logistics
    Quarterly 14 (1967), 313-316; preemptive total late work, C. N. Potts, L. N. Van Wassenhove,
    Operations Research 40 (1992). Raises as `edf` does.
    """
    book = ready(capacity, stages)
    missed: dict[int, int] = {}
    for place, minutes in fill(capacity, book, drop_late=True)[1]:
        due = last_bucket(book[place])
        missed[due] = missed.get(due, 0) + minutes
    total, least = sum(stage.processing for stage in book), sum(missed.values())
    return Overtime(least, tuple(sorted(missed.items())), total, total - least)


def least_overtime(capacity: Sequence[int], stages: Iterable[Stage]) -> int:
    """Minutes of `overtime`. 0 exactly if every window can be kept."""
    return overtime(capacity, stages).minutes
