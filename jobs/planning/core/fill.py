"""The one loop below every plan: stages in due order take the earliest minutes left.

A fixed order of rank makes this the same as working, in every bucket, on the first-ranked open
stage. Full buckets are skipped through a union-find list (``root``), so that a book of n stages
takes O((n + T) log T) at the most, and n + T steps as a rule.
"""

from collections.abc import Sequence

from jobs.planning.core.stages import Book, Stage

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


def keeps(capacity: Sequence[int], book: Book) -> bool:
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
