"""When a new job can honestly be ready, and by when it is in eight cases of ten."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from functools import cached_property
from math import floor

from jobs.planning import core
from jobs.planning.plan.book import Book
from jobs.planning.plan.workload import FittingAt, Job

NEWCOMER = "~new"
"""The ticket of a job that is not taken yet. It ranks behind the others due in the same bucket."""


@dataclass(frozen=True)
class AskedOperation:
    """One operation of an asked job.

    ``after`` says that it needs a fitting first; ``before`` that it is sewn before the one that
    others need. What is neither comes after that one. It hangs until ``not_before``, if at all.
    """

    operation: str
    minutes: int
    after: bool = False
    before: bool = False
    not_before: date | None = None


@dataclass(frozen=True)
class AskedJob:
    """A job that a client asks about: minutes before each fitting and after the last one.

    Without fittings ``parts`` is one number. ``fitting_minutes`` are taken from the bench, unless
    the ``fitting`` is booked already. ``pieces`` name the operations where they are known.
    ``not_before`` is the day on which work that waits is expected to go on, ``hangs`` the one on
    which a hem has hung long enough to be levelled.
    """

    parts: tuple[int, ...]
    fitting_minutes: int = 30
    pieces: tuple[AskedOperation, ...] = ()
    fitting: FittingAt | None = None
    not_before: date | None = None
    hangs: date | None = None

    @property
    def minutes(self) -> int:
        return sum(self.parts)


def asked_for(pieces: Iterable[AskedOperation], fitting: FittingAt | None = None) -> AskedJob:
    """The job of these operations; a fitting comes in between where one of them needs it."""
    rows = tuple(pieces)
    needs_one = any(piece.after for piece in rows)
    rows = tuple(replace(piece, after=needs_one and not piece.before) for piece in rows)
    after = sum(piece.minutes for piece in rows if piece.after)
    before = sum(piece.minutes for piece in rows) - after
    parts = (before, after) if needs_one else (before,)
    hangs = max((piece.not_before for piece in rows if piece.not_before), default=None)
    ahead = fitting if needs_one else None
    return AskedJob(parts, pieces=rows, fitting=ahead, not_before=hangs, hangs=hangs)


@dataclass(frozen=True)
class StripDay:
    """One date of the strip: spare bench minutes until the promise hour of that day.

    ``spare`` is without and ``spare_kept`` with the own hours kept. ``closed`` days cannot be
    promised.
    """

    day: date
    spare: int
    spare_kept: int
    closed: bool


@dataclass(frozen=True)
class Reason:
    """Why not sooner: of ``capacity`` minutes until ``binding``, ``demand`` are promised.

    ``jobs`` are those that hold them, the largest first; ``own`` of them are the owner's.
    """

    binding: date
    capacity: int
    demand: int
    spare: int
    jobs: tuple[Job, ...]
    own: int = 0

    @property
    def clients(self) -> list[str]:
        """Whose promises they are, each once."""
        return list(dict.fromkeys(job.client for job in self.jobs))


@dataclass(frozen=True)
class Honest:
    """The earliest dates. ``kept`` keeps the own hours, ``sooner`` only the other promises.

    ``fittings`` are the days proposed for the fittings, ``why`` what stands against the day before
    ``kept`` where the bench time does. None where no bench time is ever found.
    """

    kept: date | None
    sooner: date | None
    fittings: tuple[date, ...]
    why: Reason | None
    strip: tuple[StripDay, ...]


NOT_FOUND = (core.NoBenchTimeError, core.NoDayError, core.HorizonError)


class Promises:
    """Questions about one asked job against one book.

    ``ready_by`` is the hour of the day at which things are promised, ``is_open`` tells on which
    days the studio can be visited.
    """

    def __init__(
        self, book: Book, asked: AskedJob, ready_by: time, is_open: Callable[[date], bool]
    ) -> None:
        self.book, self.asked, self.ready_by, self.is_open = book, asked, ready_by, is_open

    @cached_property
    def capacity(self) -> tuple[int, ...]:
        """Bench minutes until all that is promised is done. Raises NoBenchTimeError."""
        return core.reach_of(self.book.calendar, self.book.stages)

    @cached_property
    def with_own(self) -> list[core.Stage]:
        """All that is promised, and the own hours that survive: what is lost cannot be kept."""
        return [*self.book.stages, *self.book.own_stages(self.capacity)]

    @cached_property
    def release(self) -> int:
        """The first bucket of the asked job. All of it waits where a part does: a late answer."""
        first = self.asked.not_before
        return max(0, self.book.bench.first_of_day(first)) if first else 0

    def due_bucket(self, day: date) -> int:
        """The last bucket that is over by the promise hour of a day.

        Past the laid-out bench a day is one bucket.
        """
        buckets = self.book.bench.buckets
        if day > buckets[-1].day:
            return len(buckets) - 1 + (day - buckets[-1].day).days
        moment = datetime.combine(day, self.ready_by, self.book.bench.zone)
        return self.book.bench.last_before(moment)

    def is_over(self, day: date) -> bool:
        """Whether the promise hour of a day has passed."""
        bench = self.book.bench
        return datetime.combine(day, self.ready_by, bench.zone) <= bench.now

    def may_promise(self, bucket: int) -> bool:
        """Only the last bucket before the promise hour of a day on which the studio is open."""
        day = self.book.day_of(bucket)
        if not self.is_open(day) or self.is_over(day):
            return False
        if bucket >= len(self.book.bench.buckets):
            return True
        return bucket == self.due_bucket(day)

    def honest(self, days: int = 21) -> Honest:
        """The strip of ``days`` dates, or as many as reach the honest one, and the earliest two."""
        try:
            kept, fittings = self._earliest(self.with_own)
            sooner, _ = self._earliest(self.book.stages)
        except NOT_FOUND:
            return Honest(None, None, (), None, ())
        far = (kept - self.book.bench.today).days + 1
        return Honest(kept, sooner, fittings, self._why(kept), self.strip(max(days, far)))

    @property
    def earliest(self) -> date | None:
        """The first day that keeps the own hours, or at least the other promises."""
        for stages in (self.with_own, self.book.stages):
            try:
                return self._earliest(stages)[0]
            except NOT_FOUND:
                continue
        return None

    def strip(self, days: int) -> tuple[StripDay, ...]:
        """Spare minutes of the next ``days`` days from today, with own hours kept and without."""
        today = self.book.bench.today
        last = self.due_bucket(today + timedelta(days=days - 1))
        capacity = self.book.calendar.reach(max(last, len(self.capacity) - 1))
        spare = core.spare(capacity, self.book.stages)
        kept = core.spare(capacity, self.with_own)
        rows = []
        for day in (today + timedelta(days=ahead) for ahead in range(days)):
            due = self.due_bucket(day)
            inside = 0 <= due < len(spare)
            rows.append(
                StripDay(
                    day=day,
                    spare=max(0, spare[due]) if inside else 0,
                    spare_kept=max(0, kept[due]) if inside else 0,
                    closed=not self.is_open(day),
                )
            )
        return tuple(rows)

    def before(self, fitting: FittingAt) -> core.Stage:
        """The work that has to be done before a fitting that is booked already."""
        due = max(0, self.book.bench.last_before(fitting.starts))
        name = f"{NEWCOMER} before"
        release = min(self.release, due)
        return core.Stage(name, name, 0, self.asked.parts[0], release, due)

    def _earliest(self, stages: list[core.Stage]) -> tuple[date, tuple[date, ...]]:
        """The earliest date beside these stages, and days for the fittings still to be booked."""
        calendar, asked = self.book.calendar, self.asked
        if len(asked.parts) < 2:
            due = core.earliest_due(calendar, stages, asked.minutes, self.release, self.may_promise)
            return self.book.day_of(due), ()
        if asked.fitting:
            both, rest = [*stages, self.before(asked.fitting)], sum(asked.parts[1:])
            after = max(self.release, self.book.bench.first_after(asked.fitting.ends))
            due = core.earliest_due(calendar, both, rest, after, self.may_promise)
            return self.book.day_of(due), ()
        pickup = core.earliest_pickup(
            calendar, stages, asked.parts, self.release, self._fitting_rule()
        )
        days = tuple(self.book.day_of(bucket) for bucket in pickup.fittings)
        return self.book.day_of(pickup.due), days

    def _fitting_rule(self) -> core.FittingRule:
        """A fitting stands at the end of a day: work before it by then, after it from the next."""
        return core.FittingRule(
            lead_in=0,
            lead_out=1,
            minutes=self.asked.fitting_minutes,
            allowed=self.may_promise,
            pickup=self.may_promise,
        )

    def _why(self, kept: date) -> Reason | None:
        """What stands against the last open day before ``kept``; None when it is not the bench."""
        days = ((kept - timedelta(days=back)) for back in range(1, 60))
        for day in days:
            due = self.due_bucket(day)
            if self.is_over(day) or due < 0:
                return None
            if self.is_open(day) and due < len(self.capacity):
                return self.reason(due)
        return None

    def reason(self, due: int) -> Reason | None:
        """What stands against the bucket ``due``; None when it is not the bench."""
        room = core.room(self.capacity, self.with_own, due)
        if room.minutes >= self.asked.minutes:
            return None
        minutes: dict[str, int] = {}
        jobs: dict[str, Job] = {}
        for stage in room.stages:
            if job := self.book.load.job_of.get(stage):
                work = self.book.load.works[stage]
                minutes[job.ticket] = minutes.get(job.ticket, 0) + work.minutes
                jobs[job.ticket] = job
        largest = sorted(minutes, key=lambda ticket: (-minutes[ticket], ticket))
        held, shares = set(room.stages), self.with_own[len(self.book.stages) :]
        return Reason(
            binding=self.book.day_of(room.binding_due),
            capacity=room.capacity,
            demand=room.demand,
            spare=room.minutes,
            jobs=tuple(jobs[ticket] for ticket in largest),
            own=sum(share.processing for share in shares if share.id in held),
        )


NEEDED = 5
"""Timed jobs below which the program does not guess how long work really takes."""
FUTURES = 200
AHEAD = 60
"""Buckets behind the honest date in which the likely one is looked for."""


@dataclass(frozen=True)
class LikelyDay:
    """``timed`` jobs are known; ``day`` is kept in ``percent`` of a hundred futures.

    ``day`` is None below `NEEDED` timed jobs, and where it lies too far away to say. ``curve`` are
    the percentages of all days that were looked at and on which the job could be promised,
    ``chances`` those of the days before ``day``.
    """

    timed: int
    percent: int
    day: date | None = None
    curve: Mapping[date, int] = field(default_factory=dict)

    @property
    def chances(self) -> dict[date, int]:
        if self.day is None:
            return {}
        return {day: percent for day, percent in self.curve.items() if day < self.day}

    @property
    def words(self) -> str:
        """Such as ``8 times out of 10``."""
        tenths, rest = divmod(self.percent, 10)
        return f"{self.percent} times out of 100" if rest else f"{tenths} times out of 10"

    @property
    def known(self) -> bool:
        return self.timed >= NEEDED


def likely(
    promises: Promises,
    history: Sequence[core.Timed],
    kept: date | None,
    fittings: Sequence[date] = (),
    percent: int = 80,
) -> LikelyDay:
    """The first day from ``kept`` on that holds at the usual times and in ``percent`` futures.

    The usual time of an operation is the median that the history teaches; with it every other
    promise and the own hours have to be kept, as for the honest date. ``fittings`` are the days
    proposed for those of the asked job: the chance is that of all its work, and what is left of
    the work before a fitting is done first. Work under way is drawn by what is left of it. Only
    work due until the last day looked at can matter, and only that is drawn. Same inputs, same
    answer. O(K (n log n + T)) for K futures.
    """
    if len(history) < NEEDED or kept is None or not promises.asked.minutes:
        return LikelyDay(len(history), percent)
    ratios = core.fit_ratios(history)
    before, after = _guessed_newcomer(promises, fittings)
    work = _guessed_book(promises)
    try:
        usual = _at_usual_times(promises, [*work, *before], after, ratios)
        first = max(0, promises.due_bucket(kept), usual)
        last = first + AHEAD
        near = [guess for guess in work if core.last_bucket(guess.stage) <= last]
        curve = core.chance_by_date(
            promises.book.calendar,
            [*near, *before],
            after,
            ratios,
            until=last,
            futures=FUTURES,
        )
        allowed = [bucket for bucket in range(first, last + 1) if promises.may_promise(bucket)]
        bucket = core.likely_date(curve, first, percent / 100, allowed)
        day = promises.book.day_of(bucket)
    except core.NoDayError:
        day = None
    except NOT_FOUND:
        return LikelyDay(len(history), percent)
    shown = {
        promises.book.day_of(bucket): floor(100 * curve[bucket])
        for bucket in range(last + 1)
        if promises.may_promise(bucket)
    }
    return LikelyDay(len(history), percent, day, shown)


def _guessed_book(promises: Promises) -> list[core.GuessedStage]:
    """All that is promised, drawn by its operation, and the own hours, which are certain."""
    works = promises.book.load.works
    return [
        core.GuessedStage(stage, works[stage.id].name if stage.id in works else None)
        for stage in core.agreeable(promises.with_own)
    ]


def _at_usual_times(
    promises: Promises,
    work: list[core.GuessedStage],
    after: list[core.GuessedStage],
    ratios: core.Ratios,
) -> int:
    """The earliest bucket if everything takes its usual time."""

    def usual(guess: core.GuessedStage) -> int:
        if guess.operation is None:
            return guess.stage.processing
        return core.median_remaining(guess.stage.processing, ratios.of(guess.operation), 0)

    stages = [replace(guess.stage, processing=usual(guess)) for guess in work]
    return core.earliest_due(
        promises.book.calendar,
        stages,
        sum(usual(guess) for guess in after),
        max(guess.stage.release for guess in after),
        promises.may_promise,
    )


def _guessed_newcomer(
    promises: Promises, fittings: Sequence[date]
) -> tuple[list[core.GuessedStage], list[core.GuessedStage]]:
    """What the asked job has before its fitting, and what comes after it or has none."""
    asked = promises.asked
    pieces = asked.pieces or tuple(
        AskedOperation("", minutes, after=bool(place)) for place, minutes in enumerate(asked.parts)
    )
    due, release = 0, promises.release
    if asked.fitting:
        due = max(0, promises.book.bench.last_before(asked.fitting.starts))
        release = max(release, promises.book.bench.first_after(asked.fitting.ends))
    elif fittings:
        due = max(0, promises.due_bucket(fittings[-1]))
        release = due + 1
    before, after = [], []
    for place, piece in enumerate(pieces):
        name = f"{NEWCOMER} {place}"
        stage = core.Stage(name, name, 0, piece.minutes, min(promises.release, due), due)
        gated = len(asked.parts) > 1
        if gated and not piece.after:
            before.append(core.GuessedStage(stage, piece.operation))
        else:
            after.append(core.GuessedStage(replace(stage, release=release), piece.operation))
    return before, after
