"""Which times to offer for a fitting: free ones, with the work before it done by then."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from jobs.planning import core
from jobs.planning.plan.bench import Bench, Busy, Shift, ShopHours, hours_of, lay_out
from jobs.planning.plan.book import Book
from jobs.planning.plan.workload import FittingRow, Job, LineRow, OpenTicket, Work, job_of, window

MOST = 8
STEP = 30
"""Minutes between two times that are offered: people keep full and half hours."""


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


@dataclass(frozen=True)
class FittingSearch:
    """A fitting of ``minutes`` is asked for, in the book as it stands.

    ``lines`` and ``fittings`` are the ticket's own, ``moving`` the one of them that moves.
    """

    book: Book
    hours: ShopHours
    lost_percent: int
    ticket: OpenTicket
    lines: Sequence[LineRow]
    fittings: Sequence[FittingRow]
    minutes: int
    moving: FittingRow | None = None

    def offer(self, since: date = date.min) -> Offer:
        """Every time is free and leaves nobody later than they are. O(days tried) plans.

        None is before the day ``since``.
        """
        end = self.book.bench.buckets[-1].ends
        job = self.job(end)
        place = place_of(job, end)
        before = tuple(work for work in job.works if work.after < place)
        times: list[datetime] = []
        try:
            for day in self._days_from(max(since, self._first_day(job, before))):
                times += self._times_on(day)
                if len(times) >= MOST:
                    break
        except core.NoBenchTimeError:
            return Offer((), before)
        return Offer(tuple(times[:MOST]), before)

    def job(self, starts: datetime) -> Job:
        """The ticket's work with the fitting at that time."""
        pk = self.moving.pk if self.moving else 0
        ends = starts + timedelta(minutes=self.minutes)
        wanted = FittingRow(pk, self.ticket.pk, "", starts, ends, booked=True, fell_through=False)
        fittings = sorted([*self._others, wanted], key=lambda fitting: fitting.starts)
        job = job_of(self.ticket, self.lines, fittings, self.book.bench.now)
        place = place_of(job, starts)
        # Work whose own fitting fell through follows the new one.
        works = [
            replace(work, after=place, waits=line.waits) if line.gate_fell_through else work
            for work, line in zip(job.works, self.lines, strict=True)
        ]
        return replace(job, works=tuple(works))

    @cached_property
    def _others(self) -> list[FittingRow]:
        moving = self.moving.pk if self.moving else 0
        return [fitting for fitting in self.fittings if fitting.pk != moving]

    @cached_property
    def _after(self) -> datetime:
        """The end of the fitting before it: a new one is the last, one that moves keeps its turn.

        Now where none comes before it.
        """
        ends = [
            fitting.ends
            for fitting in self._others
            if fitting.booked and (self.moving is None or fitting.starts < self.moving.starts)
        ]
        return max([self.book.bench.now, *ends])

    @cached_property
    def _late_already(self) -> set[str]:
        return _late(self.book)

    def _first_day(self, job: Job, before: Sequence[Work]) -> date:
        """The earliest day on which the work before the fitting can be done, others kept."""
        minutes, bench = sum(work.minutes for work in before), self.book.bench
        if not minutes:
            return bench.today
        others = [stage for stage in self.book.stages if stage.ticket != job.ticket]
        release = min(window(job, work, bench)[0] for work in before)
        due = core.earliest_due(self.book.calendar, others, minutes, release)
        return self.book.day_of(due)

    def _days_from(self, first: date) -> Iterator[date]:
        first = max(first, self.book.bench.day_of(self._after))
        last = self.book.bench.buckets[-1].day
        for ahead in range((last - first).days + 1):
            day = first + timedelta(days=ahead)
            if self.hours.is_open(day):
                yield day

    def _times_on(self, day: date) -> list[datetime]:
        """The times of one day at which the book has room for it."""
        shift = self.hours.shifts[day.weekday()]
        taken = [*self._busy(), *self.book.blocks]
        times = free_times(self.book.bench, day, shift, taken, self.minutes)
        free = [moment for moment in times if moment >= self._after]
        # What is too soon at the end of a day is too soon all day.
        if not free or not self._works_at(free[-1]):
            return []
        first = next(place for place, moment in enumerate(free) if self._works_at(moment))
        return [
            moment
            for moment in spread(free[first:], self.book.bench.zone)
            if moment == free[first] or self._works_at(moment)
        ]

    def _busy(self) -> list[Busy]:
        """What is booked, without the fitting that moves."""
        busy = list(self.book.busy)
        if self.moving and (old := Busy(self.moving.starts, self.moving.ends)) in busy:
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
        return _late(tried) - own <= self._late_already

    def _book_with(self, job: Job, moment: datetime) -> Book:
        old = self.book.bench
        jobs = [other for other in self.book.jobs if other.ticket != job.ticket]
        if job.works:
            jobs.append(job)
        busy = [*self._busy(), Busy(moment, moment + timedelta(minutes=self.minutes))]
        bench = lay_out(
            old.now,
            (old.buckets[-1].day - old.today).days + 1,
            old.zone,
            self.hours.shifts,
            closed=self.hours.closed,
            busy=[*busy, *self.book.blocks],
            cuts=[other.promise_at for other in jobs],
            lost_percent=self.lost_percent,
        )
        return replace(self.book, bench=bench, jobs=tuple(jobs), busy=tuple(busy))


def place_of(job: Job, moment: datetime) -> int:
    """The number of the fitting at ``moment`` among those of the ticket."""
    return next((n for n, fitting in enumerate(job.fittings, 1) if fitting.starts == moment), 1)


def _finished(book: Book) -> dict[str, int]:
    """The bucket in which each operation is finished."""
    late = core.lateness(book.calendar, book.stages)
    return {stage.id: stage.due + late[stage.id] for stage in core.agreeable(book.stages)}


def _late(book: Book) -> set[str]:
    return {stage for stage, by in core.lateness(book.calendar, book.stages).items() if by > 0}


def free_times(
    bench: Bench, day: date, shift: Shift | None, taken: Sequence[Busy], minutes: int
) -> Iterator[datetime]:
    """The half hours of a day at which ``minutes`` are free, in UTC, earliest first.

    ``shift`` is None on a closed day. O(48 times what is taken).
    """
    if shift is None:
        return
    opens, closes = hours_of(day, shift, bench.zone)
    for starts in _half_hours(day, bench.zone):
        ends = starts + timedelta(minutes=minutes)
        inside = max(opens, bench.now) <= starts and ends <= closes
        if inside and not any(rest.starts < ends and starts < rest.ends for rest in taken):
            yield starts


def spread(times: Sequence[datetime], zone: ZoneInfo) -> list[datetime]:
    """At most three of a day's times: the first before noon, before three, and after that."""
    chosen: dict[int, datetime] = {}
    for moment in times:
        hour = moment.astimezone(zone).hour
        chosen.setdefault((hour >= 12) + (hour >= 15), moment)
    return list(chosen.values())


def _half_hours(day: date, zone: ZoneInfo) -> Iterator[datetime]:
    """The full and half hours of a local day; those that the clock leaps over are left out."""
    for minute in range(0, 24 * 60, STEP):
        wall = datetime.combine(day, time(*divmod(minute, 60)), zone)
        moment = wall.astimezone(UTC)
        if moment.astimezone(zone).time() == wall.time():
            yield moment
