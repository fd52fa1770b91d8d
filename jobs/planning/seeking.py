"""Trying a fitting at one time after the other, each in a book of its own."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property

from jobs.planning import core
from jobs.planning.core import agreeable
from jobs.planning.jobs import job_of
from jobs.planning.models import FELL_THROUGH, Fitting, Wait
from jobs.planning.open_work import LineRow, ticket_row
from jobs.planning.plan.bench import Busy, free_times, lay_out, spread
from jobs.planning.plan.book import Book
from jobs.planning.plan.workload import Job
from jobs.planning.reading import Reading
from jobs.tickets.models import Ticket


@dataclass(frozen=True)
class Sought:
    """The fitting that is asked for, in the book as it stands."""

    reading: Reading
    ticket: Ticket
    lines: list[LineRow]
    minutes: int
    moving: Fitting | None

    @property
    def book(self) -> Book:
        return self.reading.book

    @cached_property
    def late(self) -> set[str]:
        """What is late already."""
        return _late(self.book)

    @cached_property
    def others(self) -> list[Fitting]:
        """The ticket's other fittings."""
        moving = self.moving.pk if self.moving else None
        mine = [one for one in self.reading.fittings if one.ticket_id == self.ticket.pk]
        return [one for one in mine if one.pk != moving]

    @cached_property
    def after(self) -> datetime:
        """The end of the fitting before it: a new one is the last, one that moves keeps its turn.

        Now where none comes before it.
        """
        ends = [
            one.ends_at
            for one in self.others
            if one.state == Fitting.State.BOOKED
            and (self.moving is None or one.starts_at < self.moving.starts_at)
        ]
        return max([self.book.bench.now, *ends])

    def days_from(self, first: date) -> Iterator[date]:
        first = max(first, self.book.bench.day_of(self.after))
        last = self.book.bench.buckets[-1].day
        for ahead in range((last - first).days + 1):
            day = first + timedelta(days=ahead)
            if self.reading.shop.is_open(day):
                yield day

    def times_on(self, day: date) -> list[datetime]:
        """The times of one day at which the book has room for it."""
        shift = self.reading.shop.shifts[day.weekday()]
        taken = [*self._busy(), *self.book.blocks]
        times = free_times(self.book.bench, day, shift, taken, self.minutes)
        free = [moment for moment in times if moment >= self.after]
        # What is too soon at the end of a day is too soon all day.
        if not free or not self._works_at(free[-1]):
            return []
        first = next(place for place, moment in enumerate(free) if self._works_at(moment))
        return [
            moment
            for moment in spread(free[first:], self.book.bench.zone)
            if moment == free[first] or self._works_at(moment)
        ]

    def job(self, starts_at: datetime) -> Job:
        """The ticket's work with the fitting at that time."""
        wanted = Fitting(
            pk=self.moving.pk if self.moving else None,
            ticket=self.ticket,
            starts_at=starts_at,
            minutes=self.minutes,
        )
        fittings = sorted([*self.others, wanted], key=lambda one: one.starts_at)
        job = job_of(ticket_row(self.ticket), self.lines, fittings, self.book.bench.now)
        place = place_of(job, starts_at)
        works = [
            replace(work, after=place, waits=waits) if stranded else work
            for work, (stranded, waits) in zip(job.works, map(_stranded, self.lines), strict=True)
        ]
        return replace(job, works=tuple(works))

    def _busy(self) -> list[Busy]:
        """What is booked, without the fitting that moves."""
        busy = list(self.book.busy)
        if self.moving and (old := Busy(self.moving.starts_at, self.moving.ends_at)) in busy:
            busy.remove(old)
        return busy

    def _works_at(self, moment: datetime) -> bool:
        """Whether the work before it is done by then, and nobody becomes late through it."""
        job = self.job(moment)
        tried = self._book_with(job, moment)
        limit, place = tried.bench.last_before(moment), place_of(job, moment)
        done = _finished(tried)
        mine = [work for work in job.works if work.minutes and work.after < place]
        if any(done[work.stage] > limit for work in mine):
            return False
        own = {work.stage for work in job.works}
        return _late(tried) - own <= self.late

    def _book_with(self, job: Job, moment: datetime) -> Book:
        old, shop = self.book.bench, self.reading.shop
        jobs = [one for one in self.book.jobs if one.ticket != job.ticket]
        if job.works:
            jobs.append(job)
        busy = [*self._busy(), Busy(moment, moment + timedelta(minutes=self.minutes))]
        bench = lay_out(
            old.now,
            (old.buckets[-1].day - old.today).days + 1,
            old.zone,
            shop.shifts,
            closed=shop.closed,
            busy=[*busy, *self.book.blocks],
            cuts=[one.promise_at for one in jobs],
            lost_percent=self.reading.rules.lost_percent,
        )
        return replace(self.book, bench=bench, jobs=tuple(jobs), busy=tuple(busy))


def _stranded(line: LineRow) -> tuple[bool, str]:
    """Whether the line's own fitting fell through, so that it follows the new one; its wait."""
    return line.gate_state in FELL_THROUGH, Wait.What(line.wait).label if line.wait else ""


def place_of(job: Job, moment: datetime) -> int:
    """The number of the fitting at ``moment`` among those of the ticket."""
    return next((n for n, one in enumerate(job.fittings, 1) if one.starts == moment), 1)


def _finished(book: Book) -> dict[str, int]:
    """The bucket in which each operation is finished."""
    late = core.lateness(book.calendar, book.stages)
    return {stage.id: stage.due + late[stage.id] for stage in agreeable(book.stages)}


def _late(book: Book) -> set[str]:
    return {stage for stage, by in core.lateness(book.calendar, book.stages).items() if by > 0}
