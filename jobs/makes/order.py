"""Where something stands among its like: whole numbers, changed for as few as can be."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Protocol, TypeVar


class Placed(Protocol):
    """A row with a place; rows of equal place keep the order they come in."""

    place: int


Row = TypeVar("Row", bound=Placed)


def put_before(rows: Sequence[Row], row: Row, before: Row | None) -> list[Row]:
    """Give ``row`` a place before ``before``, at the end for None or one that is not there.

    ``rows`` are all in their order, with or without ``row``; rows are compared by ``==``. Sets
    ``place`` of ``row`` and of those that have to give way, and gives all of these, to be saved.
    On top nobody gives way. Linear in the number of rows.
    """
    line = [other for other in rows if other != row]
    here = line.index(before) if before is not None and before in line else len(line)
    changed = [row]
    if line:
        row.place = line[here - 1].place + 1 if here else line[0].place - 1
    line.insert(here, row)
    for above, below in pairwise(line):
        if below.place <= above.place:
            below.place = above.place + 1
            if below != row:
                changed.append(below)
    return changed
