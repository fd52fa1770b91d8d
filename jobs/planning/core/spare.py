"""Spare minutes: how large a newcomer may be, for every date."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate, islice
from operator import sub

from jobs.planning.core.edf import ready, settle
from jobs.planning.core.fill import fill
from jobs.planning.core.stages import Book, Stage, last_bucket


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


def free_until(capacity: Sequence[int], book: Book, release: int) -> list[int]:
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


def open_at(capacity: Sequence[int], book: Book, release: int) -> list[int]:
    """Minutes of each stage still open when earliest-due-first comes to bucket ``release``."""
    left = [stage.processing for stage in book]
    if release:
        before = [place for place, stage in enumerate(book) if stage.release < release]
        pieces, _ = fill(capacity[:release], [book[place] for place in before])
        for _, place, minutes in pieces:
            left[before[place]] -= minutes
    return left


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
