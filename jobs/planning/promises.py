"""When a new job can honestly be ready, and what it costs to promise it sooner."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from jobs.planning import core
from jobs.planning.book import Book

NEWCOMER = "~new"
"""The ticket of a job that is not taken yet. It ranks behind the others due in the same bucket."""


@dataclass(frozen=True)
class Asked:
    """A job that a client asks about: minutes before each fitting and after the last one.

    Without fittings ``parts`` is one number. ``fitting_minutes`` are taken from the bench.
    """

    parts: tuple[int, ...]
    fitting_minutes: int = 30

    @property
    def minutes(self) -> int:
        return sum(self.parts)


@dataclass(frozen=True)
class Day:
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

    ``tickets`` are those that hold them, the largest first; own hours are not among them.
    """

    binding: date
    capacity: int
    demand: int
    spare: int
    tickets: tuple[str, ...]


@dataclass(frozen=True)
class Honest:
    """The earliest dates. ``kept`` keeps the own hours, ``sooner`` only the other promises.

    ``fittings`` are the days proposed for the fittings, ``why`` what stands against the day before
    ``kept``. None where no bench time is ever found.
    """

    kept: date | None
    sooner: date | None
    fittings: tuple[date, ...]
    why: Reason | None
    strip: tuple[Day, ...]


class Promises:
    """Questions about one asked job against one book.

    ``ready_by`` is the hour of the day at which things are promised, ``is_open`` tells on which
    days the studio can be visited.
    """

    def __init__(
        self, book: Book, asked: Asked, ready_by: time, is_open: Callable[[date], bool]
    ) -> None:
        self.book, self.asked, self.ready_by, self.is_open = book, asked, ready_by, is_open
        own = _kept_own(book)
        self.with_own = [*book.stages, *core.share_stages(book.weeks, own)]

    def due_bucket(self, day: date) -> int:
        """The last bucket that is over by the promise hour of a day."""
        moment = datetime.combine(day, self.ready_by, self.book.bench.zone)
        return self.book.bench.last_before(moment)

    def honest(self, days: int = 21) -> Honest:
        """The strip of dates and the earliest two of them."""
        kept, fittings = self._earliest(self.with_own)
        sooner, _ = self._earliest(self.book.stages)
        return Honest(
            kept=kept,
            sooner=sooner,
            fittings=fittings,
            why=self._why(kept) if kept else None,
            strip=self.strip(days),
        )

    def strip(self, days: int) -> tuple[Day, ...]:
        """Spare minutes of the next ``days`` days from today, with own hours kept and without."""
        today = self.book.bench.today
        spare = core.spare(self.book.capacity, self.book.stages)
        kept = core.spare(self.book.capacity, self.with_own)
        rows = []
        for day in (today + timedelta(days=ahead) for ahead in range(days)):
            due = self.due_bucket(day)
            inside = 0 <= due < len(spare)
            rows.append(
                Day(
                    day=day,
                    spare=max(0, spare[due]) if inside else 0,
                    spare_kept=max(0, kept[due]) if inside else 0,
                    closed=not self.is_open(day),
                )
            )
        return tuple(rows)

    def _earliest(self, stages: list[core.Stage]) -> tuple[date | None, tuple[date, ...]]:
        try:
            if len(self.asked.parts) < 2:
                due = core.earliest_due(
                    self.book.calendar, stages, self.asked.minutes, 0, self._may_promise
                )
                return self.book.day_of(due), ()
            found = core.earliest_pickup(
                self.book.calendar, stages, self.asked.parts, 0, self._fitting_rule()
            )
        except (core.NoBenchTimeError, core.NoDayError, core.HorizonError):
            return None, ()
        days = tuple(self.book.day_of(bucket) for bucket in found.fittings)
        return self.book.day_of(found.due), days

    def _fitting_rule(self) -> core.FittingRule:
        """A fitting stands at the end of a day: work before it by then, after it from the next."""
        return core.FittingRule(
            lead_in=0,
            lead_out=1,
            minutes=self.asked.fitting_minutes,
            allowed=self._may_promise,
            pickup=self._may_promise,
        )

    def _may_promise(self, bucket: int) -> bool:
        """Only the last bucket before the promise hour of a day on which the studio is open."""
        day = self.book.day_of(bucket)
        if not self.is_open(day):
            return False
        if bucket >= len(self.book.bench.buckets):
            return True
        return bucket == self.due_bucket(day)

    def _why(self, kept: date) -> Reason | None:
        """What stands against the last open day before ``kept``."""
        days = ((kept - timedelta(days=back)) for back in range(1, 60))
        for day in days:
            due = self.due_bucket(day)
            if day < self.book.bench.today or due < 0:
                return None
            if self.is_open(day) and due < len(self.book.capacity):
                return self._reason(due)
        return None

    def _reason(self, due: int) -> Reason:
        room = core.room(self.book.capacity, self.with_own, due)
        minutes: dict[str, int] = {}
        for stage in room.stages:
            if job := self.book.load.job_of.get(stage):
                work = self.book.load.works[stage]
                minutes[job.ticket] = minutes.get(job.ticket, 0) + work.minutes
        largest = sorted(minutes, key=lambda ticket: (-minutes[ticket], ticket))
        return Reason(
            binding=self.book.day_of(room.binding_due),
            capacity=room.capacity,
            demand=room.demand,
            spare=room.minutes,
            tickets=tuple(largest),
        )


def _kept_own(book: Book) -> list[int]:
    """Own minutes of each week that survive; what is lost already cannot be kept any more."""
    return core.own_minutes(_reach(book), book.stages, book.weeks, book.own_minutes)


def _reach(book: Book) -> tuple[int, ...]:
    return book.plan.capacity


@dataclass(frozen=True)
class LateTicket:
    """A promise that would break: ``day`` is when its work would be done."""

    ticket: str
    client: str
    day: date
    days: int


@dataclass(frozen=True)
class Cost:
    """What it costs to promise the asked job for ``day``.

    ``lost`` are own minutes by week (Monday, minutes), only those above zero. Where the day
    cannot be met at all, ``possible`` is False and ``capacity`` of ``demand`` minutes are there.
    """

    day: date
    fits: bool
    possible: bool
    late: tuple[LateTicket, ...]
    lost: tuple[tuple[date, int], ...]
    demand: int
    capacity: int

    @property
    def own_lost(self) -> int:
        return sum(minutes for _, minutes in self.lost)

    @property
    def free(self) -> bool:
        """Nobody's promise and none of the owner's hours are touched."""
        return self.fits and not self.lost


def cost(promises: Promises, day: date) -> Cost:
    """Whose promise or whose hours it costs to promise the asked job for ``day``."""
    book, due = promises.book, promises.due_bucket(day)
    rush = core.Stage(NEWCOMER, NEWCOMER, 0, promises.asked.minutes, 0, max(due, 0))
    if due < 0:
        return Cost(day, False, False, (), (), rush.processing, 0)
    found = core.rush_impact(book.calendar, book.stages, rush, book.weeks, book.own_minutes)
    lost = tuple(
        (target.monday, minutes)
        for target, minutes in zip(book.targets, found.lost, strict=False)
        if minutes > 0
    )
    return Cost(
        day=day,
        fits=found.fits,
        possible=found.possible,
        late=_late(book, found.late),
        lost=lost,
        demand=found.bottleneck.demand if found.bottleneck else rush.processing,
        capacity=found.bottleneck.capacity if found.bottleneck else sum(book.capacity[: due + 1]),
    )


def _late(book: Book, stages: tuple[core.LateStage, ...]) -> tuple[LateTicket, ...]:
    """Tickets that are later than without the newcomer, the worst stage of each."""
    worst: dict[str, LateTicket] = {}
    for stage in stages:
        if stage.late <= stage.before:
            continue
        job, due = book.load.job_of[stage.stage], book.due_of[stage.stage]
        done = book.day_of(due + stage.late)
        days = (done - book.bench.day_of(job.promise_at)).days
        row = LateTicket(job.ticket, job.client, done, max(days, 0))
        if job.ticket not in worst or worst[job.ticket].day < done:
            worst[job.ticket] = row
    return tuple(sorted(worst.values(), key=lambda row: (row.day, row.ticket)))
