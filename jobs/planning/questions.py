"""A job asked about at the counter or on the phone, put before the week as it stands."""

from dataclasses import dataclass, replace
from datetime import date, time
from functools import cached_property

from jobs.planning.history import timed_jobs
from jobs.planning.plan.bench import cut_each_day
from jobs.planning.plan.promises import AskedJob, Honest, LikelyDay, Promises, likely
from jobs.planning.plan.rush import DayCost, cost
from jobs.planning.reading import Reading, read_book
from jobs.tickets.models import Ticket
from studio.shop.models import Profile

STRIP = 14
"""Open days on the strip."""
LOOK = 60
"""Days from today among which the open ones are found."""


@dataclass(frozen=True)
class Cell:
    """One day of the strip, as ``plan.promises.StripDay``, with its verdict."""

    day: date
    spare: int
    spare_kept: int
    verdict: str


@dataclass(frozen=True)
class WeekAnswer:
    """What the week says to one asked job."""

    reading: Reading
    promises: Promises
    honest: Honest

    @property
    def kept(self) -> date | None:
        """The honest date: the own hours kept, or at least the other promises."""
        return self.honest.kept or self.honest.sooner

    @property
    def known(self) -> date | None:
        """The honest date, where there is work with minutes to plan for."""
        return self.kept if self.promises.asked.minutes else None

    @cached_property
    def likely(self) -> LikelyDay:
        """The day that holds nine times out of ten. One query."""
        return likely(self.promises, timed_jobs(), self.honest.kept, self.honest.fittings)

    @cached_property
    def cells(self) -> list[Cell]:
        """The next open days, and the honest one wherever it lies."""
        over = self.promises.is_over
        days = [row for row in self.honest.strip if not row.closed and not over(row.day)]
        return [
            Cell(row.day, row.spare, row.spare_kept, self.verdict(row.day))
            for place, row in enumerate(days)
            if place < STRIP or row.day == self.honest.kept
        ]

    def is_closed(self, day: date) -> bool:
        """Whether nobody works that day; a studio that has not said its hours is never closed."""
        shop = self.reading.shop
        return bool(shop.shifts) and not shop.is_open(day)

    def verdict(self, day: date) -> str:
        """``kept`` with own hours kept, ``own`` at their cost, ``full`` where a promise breaks."""
        if self.honest.kept and day >= self.honest.kept:
            return "kept"
        return "own" if self.honest.sooner and day >= self.honest.sooner else "full"

    def cost(self, day: date) -> DayCost | None:
        """What ``day`` costs, None where it costs nothing."""
        return None if self.verdict(day) == "kept" else cost(self.promises, day)


def ask_week(
    studio: Profile, asked: AskedJob, *, ready_by: time, without: Ticket | None = None
) -> WeekAnswer:
    """Honest dates for a job promised by ``ready_by`` of a day, in the queries of the book.

    ``without`` is the ticket whose work is asked about anew.
    """
    reading = read_book(studio, without=without)
    bench = cut_each_day(reading.book.bench, ready_by, reading.rules.lost_percent)
    book = replace(reading.book, bench=bench)
    promises = Promises(book, asked, ready_by, reading.shop.is_open)
    return WeekAnswer(reading, promises, promises.honest(LOOK))
