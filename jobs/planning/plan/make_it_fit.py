"""Too much promised: which promises to move, how much longer to sew, and what is left over then.

Everything is asked of the promises alone: work that was put on days counts as let loose.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from jobs.planning import core
from jobs.planning.plan.at_risk import last_missed
from jobs.planning.plan.bench import sew_longer
from jobs.planning.plan.book import Book, overtime_of
from jobs.planning.plan.promises import AskedJob, Promises
from jobs.planning.plan.workload import Job

STEP = 15
"""Minutes by which bench time is added."""
MOST = 240
"""The longest that a proposal adds to a day: half a day, as far as anybody sews on (our choice)."""


@dataclass(frozen=True)
class StudioHours:
    """What a day is for promises and for sewing longer.

    ``ready_by`` is the usual hour of promises, ``is_open`` tells on which days the studio can be
    visited; ``opens`` is when a closed day would begin and ``lost_percent`` the time that is lost.
    """

    ready_by: time
    is_open: Callable[[date], bool]
    opens: time = time(9)
    lost_percent: int = 0


@dataclass(frozen=True)
class InTheWay:
    """A ticket with minutes in the full days; ``minutes`` are those due in them, of ``in_all``."""

    job: Job
    minutes: int
    promised: date

    @property
    def in_all(self) -> int:
        return self.job.minutes


@dataclass(frozen=True)
class Proposal:
    """The smallest way out.

    ``moved`` are the fewest tickets to move, of these the ones with the fewest minutes; ``longer``
    is the bench time to add by day, in steps, where moving alone is not enough (else empty).
    ``least`` says that no smaller set does.
    """

    moved: tuple[str, ...]
    longer: tuple[tuple[date, int], ...]
    least: bool


@dataclass(frozen=True)
class LeftOver:
    """What is left over with some promises moved and bench time added.

    From now to the end of ``until``, the last day that is too full as things stand, ``promised``
    minutes have to be sewn, of which ``bench`` fit by their days and ``over`` do not: the bar.
    ``over`` is the least that has to be added; 0 says that all promises hold. ``longer`` are the
    days on which adding bench time helps, with the minutes each still lacks, in steps. ``days`` are
    the new days of the moved tickets, None where none is found.
    """

    until: date | None
    promised: int
    over: int
    longer: tuple[tuple[date, int], ...]
    days: Mapping[str, date | None]

    @property
    def bench(self) -> int:
        return self.promised - self.over

    @property
    def fits(self) -> bool:
        return not self.over


def in_the_way(book: Book) -> list[InTheWay]:
    """The tickets whose work lies in the days that are too full, all of which could make room.

    That is work due by the last day that is missed; first promised first.
    """
    book = book.let_loose
    until = last_missed(book)
    if until is None:
        return []
    due: dict[str, int] = {}
    for stage in book.prepared:
        if core.last_bucket(stage) <= until:
            due[stage.ticket] = due.get(stage.ticket, 0) + stage.processing
    return [
        InTheWay(job, due[job.ticket], book.bench.day_of(job.promise_at))
        for job in sorted(book.jobs, key=lambda job: (job.promise_at, job.ticket))
        if job.ticket in due
    ]


def propose(book: Book, hours: StudioHours, stays: Collection[str] = ()) -> Proposal | None:
    """The smallest set of promises to move, None when all hold. ``stays`` are not to be moved.

    Where no set is enough, bench time comes first: the least that lets what stays hold, rounded up
    to steps, at most `MOST` a day where that can be: on open days to come, the last ones first,
    then today, then on closed days; and then the smallest set beside it. See `core.fewest_moved`,
    which is exact within a limit.
    """
    book = book.let_loose
    if not overtime_of(book.calendar, book.load):
        return None
    movable = {job.ticket: job.minutes for job in book.jobs if job.ticket not in stays}
    longer: dict[date, int] = {}
    found = _fewest(book, movable)
    while found is None:
        # Steps are rounded up, and lost time is taken off what is added: a few rounds at the most.
        left = left_over(book, hours, movable, longer)
        added = [_add(book, hours, movable, longer, lack) for lack in left.longer]
        if not left.longer:
            return Proposal((), tuple(sorted(longer.items())), least=False)
        if not any(added):
            for day, minutes in left.longer:
                longer[day] = longer.get(day, 0) + minutes
        found = _fewest(with_longer_days(book, hours, longer), movable)
    return Proposal(found.tickets, tuple(sorted(longer.items())), found.least)


def _add(
    book: Book,
    hours: StudioHours,
    moved: Collection[str],
    longer: dict[date, int],
    lack: tuple[date, int],
) -> int:
    """Put the minutes a day lacks on it, or on those before it that help; gives how many were."""
    day, minutes = lack
    before = [day - timedelta(days=back) for back in range((day - book.bench.today).days + 1)]
    over, wanted = left_over(book, hours, moved, longer).over, minutes
    today = book.bench.today
    for each in sorted(before, key=lambda each: (not hours.is_open(each), each == today)):
        more = min(wanted, MOST - longer.get(each, 0))
        if more > 0:
            tried = {**longer, each: longer.get(each, 0) + more}
            left = left_over(book, hours, moved, tried).over
            if left < over:
                longer[each], over, wanted = tried[each], left, wanted - more
    return minutes - wanted


def _fewest(book: Book, movable: Mapping[str, int]) -> core.FewestMoved | None:
    return core.fewest_moved(_capacity(book), book.prepared, movable)


def left_over(
    book: Book,
    hours: StudioHours,
    moved: Collection[str] = (),
    longer: Mapping[date, int] | None = None,
    *,
    days: bool = False,
) -> LeftOver:
    """The answer to every tick and every step: one plan. With ``days`` also the new days.

    A moved ticket is out of the full days whole; its new day is the first open one by whose usual
    hour it is done, behind everybody else and with the own hours kept where that can be, later
    than the one promised; each is found beside those before it, in the order of their promises.
    O(n log n + T), and as much for each new day.
    """
    book = book.let_loose
    full = last_missed(book)
    longer_book = with_longer_days(book, hours, longer or {})
    rest = replace(
        longer_book, jobs=tuple(job for job in longer_book.jobs if job.ticket not in moved)
    )
    extra = core.overtime(_capacity(rest), rest.prepared)
    lacks: dict[date, int] = {}
    for bucket, minutes in extra.by_bucket:
        lacks[rest.day_of(bucket)] = lacks.get(rest.day_of(bucket), 0) + minutes
    until = full if full is not None else -1
    promised = [stage.processing for stage in rest.prepared if core.last_bucket(stage) <= until]
    return LeftOver(
        until=None if full is None else book.day_of(full),
        promised=sum(promised),
        over=extra.minutes,
        longer=tuple(
            (day, _steps(minutes, hours.lost_percent)) for day, minutes in sorted(lacks.items())
        ),
        days=new_days(longer_book, hours, moved) if days else {},
    )


def new_days(book: Book, hours: StudioHours, moved: Collection[str]) -> dict[str, date | None]:
    """A new day for each moved ticket, in the order of their promises."""
    jobs = {job.ticket: job for job in book.jobs}
    rest = [job for job in book.jobs if job.ticket not in moved]
    days: dict[str, date | None] = {}
    for job in sorted(
        (jobs[ticket] for ticket in moved if ticket in jobs),
        key=lambda job: (job.promise_at, job.ticket),
    ):
        day = days[job.ticket] = _new_day(replace(book, jobs=tuple(rest)), hours, job)
        if day:
            promise = datetime.combine(day, hours.ready_by, book.bench.zone)
            rest.append(replace(job, promise_at=promise))
    return days


def _new_day(book: Book, hours: StudioHours, job: Job) -> date | None:
    waits = [work.expected for work in job.works if work.waits and work.expected]
    asked = AskedJob((job.minutes,), not_before=max(waits, default=None))
    promised = book.bench.day_of(job.promise_at)

    def is_open(day: date) -> bool:
        return day > promised and hours.is_open(day)

    promises = Promises(book, asked, hours.ready_by, is_open)
    return promises.earliest


def with_longer_days(book: Book, hours: StudioHours, longer: Mapping[date, int]) -> Book:
    """The book with so many minutes more by the clock on these days."""
    added = {day: minutes for day, minutes in longer.items() if minutes > 0}
    if not added:
        return book
    bench = sew_longer(book.bench, added, hours.lost_percent, hours.opens)
    return replace(book, bench=bench)


def _capacity(book: Book) -> tuple[int, ...]:
    return core.reach_of(book.calendar, book.prepared)


def _steps(minutes: int, lost_percent: int) -> int:
    """Minutes by the clock, in steps, that hold so many at the bench."""
    clock = -(-minutes * 100 // (100 - lost_percent))
    return -(-clock // STEP) * STEP
