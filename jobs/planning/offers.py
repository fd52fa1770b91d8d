"""Which times to offer for a fitting: free ones, with the work before it done by then."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from jobs.planning import core
from jobs.planning.models import Fitting
from jobs.planning.open_work import read_lines
from jobs.planning.plan.book import Book
from jobs.planning.plan.workload import Job, Work, window
from jobs.planning.reading import read_book
from jobs.planning.seeking import Sought, place_of
from jobs.tickets.models import Ticket
from studio.shop.models import Profile

MOST = 8


@dataclass(frozen=True)
class Offer:
    """Times for one fitting, earliest first; none where the bench never has room.

    ``before`` is the work that comes before it, ``minutes`` how long that takes.
    """

    times: tuple[datetime, ...]
    before: tuple[Work, ...]

    @property
    def minutes(self) -> int:
        return sum(work.minutes for work in self.before)

    def too_soon(self, moment: datetime) -> bool:
        """Whether the work before it cannot be done by ``moment`` with all else kept."""
        return bool(self.minutes and self.times and moment < self.times[0])


def offer_times(
    ticket: Ticket, studio: Profile, minutes: int, moving: Fitting | None = None
) -> Offer:
    """Times for a new fitting of ``minutes``, or for ``moving`` one, in nine queries.

    Every time is free and leaves nobody later than they are. O(days offered) plans of the book.
    """
    lines = read_lines([ticket.pk])
    sought = Sought(read_book(studio), ticket, lines, minutes, moving)
    far = sought.job(sought.book.bench.buckets[-1].ends)
    place = place_of(far, sought.book.bench.buckets[-1].ends)
    before = tuple(work for work in far.works if work.after < place)
    times: list[datetime] = []
    try:
        for day in sought.days_from(_first_day(sought.book, far, before)):
            times += sought.times_on(day)
            if len(times) >= MOST:
                break
    except core.NoBenchTimeError:
        return Offer((), before)
    return Offer(tuple(times[:MOST]), before)


def _first_day(book: Book, job: Job, before: Sequence[Work]) -> date:
    """The earliest day on which the work before the fitting can be done, others kept."""
    minutes = sum(work.minutes for work in before)
    if not minutes:
        return book.bench.today
    others = [stage for stage in book.stages if stage.ticket != job.ticket]
    release = min(window(job, work, book.bench)[0] for work in before)
    return book.day_of(core.earliest_due(book.calendar, others, minutes, release))
