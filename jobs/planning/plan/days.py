"""What the owner asks of the week, answered from the book. Texts are made in templates."""

from dataclasses import dataclass
from datetime import date

from jobs.planning import core
from jobs.planning.plan.book import Book


@dataclass(frozen=True)
class MustDoBy:
    """At least ``minutes`` of client work by the end of ``until``, and why.

    ``demand`` minutes are due by ``binding`` and only ``later`` are left after ``until``.
    ``free`` is what the must-do leaves of the bench time until then. ``needed`` are the ids of the
    stages it consists of.
    """

    until: date
    minutes: int
    capacity: int
    free: int
    demand: int
    later: int
    binding: date | None
    overfull: bool
    needed: frozenset[str] = frozenset()


def must_do(book: Book, until: date) -> MustDoBy:
    """The least client work up to and including ``until``."""
    by = max(0, book.bench.last_of_day(until))
    least = core.must_do(book.capacity, book.prepared, by)
    return MustDoBy(
        until=until,
        minutes=least.minutes,
        capacity=least.capacity,
        free=least.free,
        demand=least.demand,
        later=least.later_capacity,
        binding=None if least.binding_due is None else book.day_of(least.binding_due),
        overfull=least.relaxed,
        needed=frozenset(stage for bucket in least.plan for stage, _ in bucket),
    )
