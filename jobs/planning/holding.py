"""Whether all that is promised can be kept, and what mends it."""

from dataclasses import dataclass, replace
from datetime import datetime, time

from jobs.planning import core
from jobs.planning.plan.bench import cut_each_day
from jobs.planning.plan.book import Book
from jobs.planning.plan.too_much import (
    Clash,
    Overdue,
    Overfull,
    Repair,
    Tight,
    clashes,
    overdue,
    overfull,
    tightest,
)
from jobs.planning.plan.workload import Job
from jobs.planning.reading import Shop, read_book
from studio.shop import clock
from studio.shop.models import Profile


@dataclass(frozen=True)
class Move:
    """A promise that could move: to the usual hour of the first open day that mends the week."""

    job: Job
    to: datetime


@dataclass(frozen=True)
class Holding:
    """``promises`` is how many there are. ``overfull`` is None when all of them fit.

    ``bench`` is False where there is no bench time at all.
    """

    promises: int
    overfull: Overfull | None
    moves: tuple[Move, ...]
    tightest: Tight | None
    clashes: list[Clash]
    overdue: list[Overdue]
    bench: bool

    @property
    def well(self) -> bool:
        return not (self.overfull or self.clashes or self.overdue) and self.bench


def look_ahead(studio: Profile) -> Holding:
    """The week as it stands, in as many queries as the book."""
    reading = read_book(studio)
    bench = cut_each_day(reading.book.bench, studio.promise_time, reading.rules.lost_percent)
    book = replace(reading.book, bench=bench)
    try:
        found, tight = overfull(book), tightest(book)
    except core.NoBenchTimeError:
        return Holding(len(book.jobs), None, (), None, clashes(book), overdue(book), bench=False)
    moves = tuple(
        _move(repair, book, studio.promise_time, reading.shop)
        for repair in (found.moves if found else ())
    )
    return Holding(
        promises=len(book.jobs),
        overfull=found,
        moves=moves,
        tightest=tight,
        clashes=clashes(book),
        overdue=overdue(book),
        bench=bool(reading.shop.shifts),
    )


def _move(repair: Repair, book: Book, ready_by: time, shop: Shop) -> Move:
    day = repair.promise_day(book, ready_by, shop.is_open)
    return Move(repair.job, clock.at(day, ready_by))
