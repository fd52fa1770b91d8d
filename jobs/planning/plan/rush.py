"""What it costs to promise a job for a day: whose promise, and how much of the owner's time.

And how much time there is until a day, with what moves to make room for the job.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from jobs.planning import core
from jobs.planning.plan.book import Book
from jobs.planning.plan.promises import NEWCOMER, NOT_FOUND, Promises
from jobs.planning.plan.workload import Job, PlannedMake


@dataclass(frozen=True)
class LateTicket:
    """A promise that would break: ``day`` is when its work would be done.

    ``instead`` is the promised day or, where that cannot be kept anyhow, the day on which it would
    be done without the job. With ``fitting`` it is the work before a fitting that would be late.
    """

    ticket: str
    client: str
    instead: date
    day: date
    fitting: bool = False

    @property
    def days(self) -> int:
        return (self.day - self.instead).days


@dataclass(frozen=True)
class WeekCost:
    """Own minutes of a week without and with the job; ``free_lost`` of all that clients leave.

    Those sewn already and those put on days are among them, as on the pages of own hours. ``lost``
    is what the job takes of them: a make that only moves to another week is not lost.
    """

    monday: date
    kept_before: int
    kept_after: int
    lost: int
    free_lost: int


@dataclass(frozen=True)
class ShortMake:
    """A make planned like a promise that would lack ``minutes`` on its day."""

    make: PlannedMake
    minutes: int


@dataclass(frozen=True)
class Window:
    """From ``starts`` to ``ends`` the bench holds ``capacity`` minutes, ``demand`` are wanted.

    ``tickets`` hold them beside the asked job.
    """

    starts: date
    ends: date
    demand: int
    capacity: int
    tickets: tuple[str, ...]

    @property
    def excess(self) -> int:
        return self.demand - self.capacity


@dataclass(frozen=True)
class DayCost:
    """What it costs to promise the asked job for ``day``.

    ``fits`` when no promise breaks, ``late`` names those that would, ``short`` the owner's makes
    that would not be done by their day. ``possible`` is False where
    the job alone is too much until that day, all else put aside. ``full`` is the window that has
    no room. ``fitting`` is a day for the fitting that still has to be booked; where the job needs
    one and there is none before ``day``, ``lacks_fitting`` says so; ``waits`` is the day until
    which the job waits, where that is too late. ``weeks`` end with the last one that changes.
    """

    day: date
    fits: bool
    possible: bool
    late: tuple[LateTicket, ...] = ()
    weeks: tuple[WeekCost, ...] = ()
    short: tuple[ShortMake, ...] = ()
    full: Window | None = None
    fitting: date | None = None
    lacks_fitting: bool = False
    waits: date | None = None

    @property
    def lost(self) -> tuple[tuple[date, int], ...]:
        """Own minutes by week (Monday, minutes), only those above zero."""
        return tuple((week.monday, week.lost) for week in self.weeks if week.lost > 0)

    @property
    def free(self) -> bool:
        """Nobody's promise and none of the owner's hours are touched."""
        return self.fits and not self.lost and not self.short


def cost(promises: Promises, day: date) -> DayCost:
    """Whose promise or whose hours it costs to promise the asked job for ``day``.

    Where no bench time is ever found, it is not possible.
    """
    book, due = promises.book, promises.due_bucket(day)
    try:
        if due < 0 or promises.is_over(day):
            return DayCost(day, fits=False, possible=False)
        if due < promises.release:
            return DayCost(day, fits=False, possible=False, waits=promises.asked.not_before)
        new, fitting = _newcomer(promises, due)
        if not new:
            return DayCost(day, fits=False, possible=False, lacks_fitting=True)
        own = book.weeks, book.own_whole
        impact = core.rush_impact(book.calendar, book.stages, new, *own, **book.own_work)
    except NOT_FOUND:
        return DayCost(day, fits=False, possible=False)
    return DayCost(
        day=day,
        fits=impact.fits,
        possible=impact.possible,
        late=late_tickets(book, impact.late),
        weeks=_weeks(book, impact),
        short=tuple(ShortMake(book.planned[stage], minutes) for stage, minutes in impact.short),
        full=_window(book, impact.bottleneck),
        fitting=None if fitting is None else book.day_of(fitting),
    )


def _newcomer(promises: Promises, due: int) -> tuple[list[core.Stage], int | None]:
    """The asked job as stages due in ``due``, and the bucket of a fitting to be booked.

    No stages where no fitting finds a place before it.
    """
    asked = promises.asked
    if len(asked.parts) < 2:
        return [core.Stage(NEWCOMER, NEWCOMER, 0, asked.minutes, promises.release, due)], None
    rest = sum(asked.parts[1:])
    if asked.fitting:
        release = max(promises.release, promises.book.bench.first_after(asked.fitting.ends))
        if release > due:
            return [], None
        after = core.Stage(NEWCOMER, NEWCOMER, 1, rest, release, due)
        return [promises.before(asked.fitting), after], None
    return _with_fitting(promises, due, asked.parts[0], rest)


def _with_fitting(
    promises: Promises, due: int, first: int, rest: int
) -> tuple[list[core.Stage], int | None]:
    """The earliest fitting that takes nothing of the owner's, else one that breaks no promise.

    Where there is none either, the last that the job itself allows.
    """
    book, capacity = promises.book, promises.capacity
    sooner: tuple[list[core.Stage], int | None] | None = None
    last: tuple[list[core.Stage], int | None] = ([], None)
    longer = book.calendar.reach(max(due, len(capacity) - 1))
    for bucket in filter(promises.may_promise, range(promises.release, due)):
        meeting = f"{NEWCOMER} fitting"
        stages = [
            core.Stage(f"{NEWCOMER} before", NEWCOMER, 0, first, promises.release, bucket),
            core.Stage(meeting, meeting, 0, promises.asked.fitting_minutes, bucket, bucket),
            core.Stage(NEWCOMER, NEWCOMER, 1, rest, bucket + 1, due),
        ]
        if core.fits(longer, stages):
            if core.fits(longer, [*promises.with_own, *stages]):
                return stages, bucket
            last = stages, bucket
            if not sooner and core.fits(longer, [*book.stages, *stages]):
                sooner = last
    return sooner or last


def late_tickets(book: Book, stages: Iterable[core.LateStage]) -> tuple[LateTicket, ...]:
    """Tickets that are later than without the newcomer, the worst stage of each."""
    worst: dict[str, LateTicket] = {}
    for stage in stages:
        if stage.late <= stage.before:
            continue
        job, due = book.load.job_of[stage.stage], book.due_of[stage.stage]
        done, without = book.day_of(due + stage.late), due + max(stage.before, 0)
        promised = max(book.bench.last_before(job.promise_at), 0)
        kept = without == promised
        instead = book.bench.day_of(job.promise_at) if kept else book.day_of(without)
        row = LateTicket(job.ticket, job.client, instead, done, fitting=due < promised)
        if job.ticket not in worst or worst[job.ticket].day < done:
            worst[job.ticket] = row
    return tuple(sorted(worst.values(), key=lambda row: (row.day, row.ticket)))


def _weeks(book: Book, impact: core.Impact) -> tuple[WeekCost, ...]:
    rows = [
        WeekCost(
            target.monday,
            target.spent + target.placed - target.on_days + before,
            target.spent + target.placed - target.on_days + after,
            lost,
            free,
        )
        for target, before, after, lost, free in zip(
            book.targets,
            impact.kept_before,
            impact.kept_after,
            impact.lost,
            impact.free_lost,
            strict=False,
        )
    ]
    changed = [
        n for n, row in enumerate(rows, 1) if row.free_lost or row.kept_before != row.kept_after
    ]
    return tuple(rows[: max(changed, default=0)])


def _window(book: Book, overfull: core.Bottleneck | None) -> Window | None:
    if overfull is None:
        return None
    held = {book.load.job_of[s].ticket for s in overfull.stages if s in book.load.job_of}
    return Window(
        starts=book.day_of(overfull.start),
        ends=book.day_of(overfull.end),
        demand=overfull.demand,
        capacity=overfull.capacity,
        tickets=tuple(sorted(held)),
    )


@dataclass(frozen=True)
class MovedWork:
    """``minutes`` of a garment that give way to the days ``to``, inside their promise.

    It is all that is left of it where ``whole``. Own sewing has no ``job``.
    """

    minutes: int
    to: tuple[date, ...]
    whole: bool
    job: Job | None = None
    garment: str = ""


@dataclass(frozen=True)
class TimeUntil:
    """Bench minutes until the hour of promises of ``day``, nobody being later than without.

    ``untouched`` are those that nobody needs, ``moving`` those that come free where work moves
    inside its promises, ``own`` those where the owner's hours give way too. For the asked job the
    work of ``moved`` moves, the most first, and own sewing lacks its minutes on ``own_from``.
    """

    day: date
    untouched: int
    moving: int
    own: int
    moved: tuple[MovedWork, ...] = ()
    own_from: tuple[date, ...] = ()

    @property
    def all(self) -> int:
        return self.untouched + self.moving + self.own


def time_until(promises: Promises, day: date) -> TimeUntil:
    """How much time there is until ``day``, and what moves where the asked job is promised for it.

    Where the job fits into what is untouched nothing moves. Else the plan is made twice, with and
    without the job: what lay before that hour and then lies behind it moved. Raises
    NoBenchTimeError where no bench time is ever found.
    """
    book, due = promises.book, promises.due_bucket(day)
    if due < 0:
        return TimeUntil(day, 0, 0, 0)
    row = promises.strip((day - book.bench.today).days + 1)[-1]
    held = sum(book.calendar.reach(due)[: due + 1])
    untouched = held - sum(m for pieces in book.plan.days[: due + 1] for _, m in pieces)
    until = TimeUntil(
        day,
        untouched,
        moving=max(0, row.spare_kept - untouched),
        own=max(0, row.spare - max(row.spare_kept, untouched)),
    )
    asked = promises.asked
    if len(asked.parts) == 1 and not promises.release and asked.minutes <= untouched:
        return until
    new, _ = _newcomer(promises, due)
    if not new:
        return until
    own = book.weeks, book.own_whole, book.min_piece
    plan = core.plan_weeks(book.calendar, [*book.stages, *new], *own, **book.own_work)
    before, after = _by_piece(book, book.plan.days), _by_piece(book, plan.days)
    moved = [_moved(book, due, key, was, after[key]) for key, was in before.items()]
    own_before, own_after = (_by_day(book, rows[OWN_PIECE]) for rows in (before, after))
    return replace(
        until,
        moved=tuple(sorted(filter(None, moved), key=lambda move: -move.minutes)),
        own_from=tuple(sorted(own_before - own_after)),
    )


OWN_PIECE = "", ""


def _by_piece(
    book: Book, days: Sequence[tuple[tuple[str, int], ...]]
) -> defaultdict[tuple[str, str], Counter[int]]:
    """Minutes of each bucket by ticket and garment; the asked job is left out."""
    minutes: defaultdict[tuple[str, str], Counter[int]] = defaultdict(Counter)
    for bucket, pieces in enumerate(days):
        for stage, worked in pieces:
            if stage.startswith(core.OWN):
                minutes[OWN_PIECE][bucket] += worked
            elif work := book.load.works.get(stage):
                ticket = book.load.job_of[stage].ticket
                minutes[ticket, work.garment][bucket] += worked
    return minutes


def _by_day(book: Book, buckets: Counter[int]) -> Counter[date]:
    minutes: Counter[date] = Counter()
    for bucket, worked in buckets.items():
        minutes[book.day_of(bucket)] += worked
    return minutes


def _moved(
    book: Book, due: int, piece: tuple[str, str], was: Counter[int], now: Counter[int]
) -> MovedWork | None:
    """What of a piece was sewn by the bucket ``due`` and is sewn behind it; None if nothing.

    What only changes its turn before it, or moves on behind it, is not told.
    """
    sewn = [sum(m for bucket, m in rows.items() if bucket <= due) for rows in (was, now)]
    behind = Counter({bucket: m for bucket, m in (now - was).items() if bucket > due})
    minutes = min(sewn[0] - sewn[1], behind.total())
    if minutes <= 0:
        return None
    ticket, garment = piece
    job = next((job for job in book.jobs if job.ticket == ticket), None)
    to = tuple(sorted(_by_day(book, behind)))
    return MovedWork(minutes, to, minutes == was.total(), job, garment)
