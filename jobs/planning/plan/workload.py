"""From rows of tickets, operations, fittings and makes to the stages that the core arranges.

Plain data; nothing else in the program computes dates. Every open operation is one stage of its
ticket, in the order: before the first fitting, then after it, and so on; within that by the order
of work. Buckets are those of ``jobs.planning.plan.bench``.

Makes that the owner planned like a promise are own time that has a day. Their minutes are the first
of the own hours that the clients leave until their day; only what these cannot hold comes on top.
They never make the book overfull: what the promises to clients leave no room for is left out, and
nobody is late for it.
"""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from enum import Enum, auto
from itertools import groupby
from operator import attrgetter
from typing import NamedTuple

from jobs.planning.core import OWN, Stage, WindowError, agreeable, last_bucket
from jobs.planning.plan.bench import Bench

TO_BOOK = "A fitting to be booked"
TO_MOVE = "A new day for the missed fitting"
TO_MARK = "The hem to be marked"
TO_HANG = "The hem to hang before it is levelled"
GATES = (TO_BOOK, TO_MOVE, TO_MARK)
"""What the studio can bring about by itself: it is planned as if it came tomorrow."""


@dataclass(frozen=True)
class Work:
    """One open operation. ``minutes`` are those still to be sewn.

    ``after`` is the number of fittings that come before it. ``waits`` says for what it waits
    ("" when it can be worked on), ``question`` what was asked, ``since`` from when on it waits and
    ``expected`` when that is thought to end. ``day`` is the one the owner put it on.
    """

    line: int
    garment: str
    name: str
    minutes: int
    order: int
    after: int = 0
    waits: str = ""
    expected: date | None = None
    question: str = ""
    since: datetime | None = None
    day: date | None = None

    @property
    def stage(self) -> str:
        return f"line-{self.line}"

    @property
    def on_hold(self) -> bool:
        """Whether it waits for others, nobody knows until when: it goes on when it is resumed."""
        return bool(self.waits) and self.expected is None and self.waits not in GATES


@dataclass(frozen=True)
class FittingAt:
    """A booked fitting still to come."""

    starts: datetime
    ends: datetime
    kind: str
    pk: int = 0


@dataclass(frozen=True)
class Job:
    """One ticket on the bench, with its booked fittings in order of time."""

    ticket: str
    client: str
    promise_at: datetime
    works: tuple[Work, ...]
    fittings: tuple[FittingAt, ...] = ()

    @property
    def minutes(self) -> int:
        return sum(work.minutes for work in self.works)


class OpenTicket(NamedTuple):
    """A ticket whose garments are here, or that became ready since a moment."""

    pk: int
    number: str
    client: str
    promise_at: datetime
    at_the_bench: bool
    ready: bool


class FittingRow(NamedTuple):
    """A fitting of the ticket with that key. One that neither is booked nor fell through was kept.

    ``fell_through`` says that it was missed or cancelled: the work after it needs another one.
    """

    pk: int
    ticket: int
    kind: str
    starts: datetime
    ends: datetime
    booked: bool
    fell_through: bool

    @property
    def minutes(self) -> int:
        return int((self.ends - self.starts).total_seconds()) // 60

    @property
    def kept(self) -> bool:
        return not (self.booked or self.fell_through)


class LineRow(NamedTuple):
    """An operation with what holds it up: the fitting before it, a wait, a hem not marked.

    ``minutes`` are still to be sewn, ``spent`` those sewn already, None when nobody has timed it.
    ``gate`` is the fitting it comes after; without one it comes after the first fitting, unless it
    stands ``before_fitting``. ``waits`` what it waits for in words, "" when it does
    not. ``heel_changed`` is when other shoes turned up, ``marked_at`` when the hem was marked.
    ``to_measure`` says that it was agreed without an amount.
    """

    pk: int
    ticket: int
    garment: str
    name: str
    minutes: int
    spent: int | None
    order: int
    is_hem: bool
    fitting_first: bool
    before_fitting: bool
    gate: int | None
    gate_fell_through: bool
    gate_starts: datetime | None
    heel_changed: datetime | None
    marked_at: datetime | None
    waits: str
    expected: date | None
    question: str
    since: datetime | None
    day: date | None
    received: datetime
    done_at: datetime | None
    to_measure: bool = False

    @property
    def to_mark(self) -> bool:
        """Whether this hem still has to be marked in the shoes it is worn with."""
        asks = needs_cut_mark(self.is_hem, self.fitting_first, self.heel_changed)
        return asks and not is_marked(self.marked_at, self.heel_changed)


def needs_cut_mark(is_hem: bool, fitting_first: bool, heel_changed: datetime | None) -> bool:
    """Whether this is cut only once it was marked in the event shoes.

    So is a hem that waits for a fitting, and any whose shoes turned out to be others.
    """
    return is_hem and (fitting_first or heel_changed is not None)


def is_marked(marked_at: datetime | None, heel_changed: datetime | None) -> bool:
    """Whether the hem was marked in the shoes it is worn with."""
    return marked_at is not None and (heel_changed is None or marked_at >= heel_changed)


def job_of(
    ticket: OpenTicket, lines: Iterable[LineRow], fittings: Sequence[FittingRow], now: datetime
) -> Job:
    """One ticket with its open operations; ``fittings`` are its own, in order of time."""
    to_come = [fitting for fitting in fittings if fitting.booked and fitting.ends > now]
    return Job(
        ticket=ticket.number,
        client=ticket.client,
        promise_at=ticket.promise_at,
        works=tuple(work_of(line, fittings, to_come) for line in lines),
        fittings=tuple(
            FittingAt(fitting.starts, fitting.ends, fitting.kind, fitting.pk) for fitting in to_come
        ),
    )


def work_of(line: LineRow, fittings: Sequence[FittingRow], to_come: Sequence[FittingRow]) -> Work:
    """One operation with its place among the fittings and what it waits for since when."""
    after, waits, since = _gate(line, fittings, to_come)
    if line.waits:
        waits, since = line.waits, line.since
    return Work(
        line=line.pk,
        garment=line.garment,
        name=line.name,
        minutes=line.minutes,
        order=line.order,
        after=after,
        waits=waits,
        expected=line.expected,
        question=line.question,
        since=since,
        day=line.day,
    )


def _gate(
    line: LineRow, fittings: Sequence[FittingRow], to_come: Sequence[FittingRow]
) -> tuple[int, str, datetime | None]:
    """How many fittings to come stand before the work; what is missing if none can, since when."""
    needs_one = line.fitting_first and not line.before_fitting
    fitted = any(fitting.kept for fitting in fittings)
    # What needs no fitting of its own comes after the first all the same, and then at any time.
    follows = needs_one or (bool(fittings) and not fitted and not line.before_fitting)
    if line.gate is not None:
        place = next((n for n, fitting in enumerate(to_come, 1) if fitting.pk == line.gate), 0)
    else:
        place = 1 if follows and to_come else 0
    if place:
        return place, "", None
    if line.gate is None and not follows:
        return (0, TO_MARK, line.heel_changed) if line.to_mark else (0, "", None)
    return 0, *_missing(line, fittings)


def _missing(line: LineRow, fittings: Sequence[FittingRow]) -> tuple[str, datetime | None]:
    """What a line that no coming fitting holds up still lacks; empty when it can be sewn."""
    if line.gate is not None:
        fell_through, last = line.gate_fell_through, line.gate_starts
    elif fittings:
        fell_through, last = fittings[-1].fell_through, fittings[-1].starts
    else:
        return TO_BOOK, line.received
    if fell_through:
        return TO_MOVE, last
    return (TO_MARK, last) if line.to_mark else ("", None)


class DayTrouble(Enum):
    """Why work cannot be sewn on the day it was put on."""

    PAST = auto()
    CLOSED = auto()
    TOO_EARLY = auto()
    TOO_LATE = auto()
    ORDER = auto()
    FULL = auto()


@dataclass(frozen=True)
class DayAtRisk:
    """``works`` of a ticket were put on ``day``, which does not hold: planned as if let loose.

    PAST days are over, CLOSED ones have no bench time. TOO_EARLY: a fitting, or what it waits for,
    comes after the day; TOO_LATE: the promise, or a fitting, comes before it. ORDER: other work on
    the garment, before or after it, is on a day that does not go with it. FULL: ``short`` minutes
    of bench time are missing for it, the promises being kept.
    """

    job: Job
    works: tuple[Work, ...]
    day: date
    why: DayTrouble
    short: int = 0


@dataclass
class Load:
    """The stages of all jobs, and what about them cannot be as it is.

    ``works`` and ``job_of`` find a stage's operation and ticket by the stage's id.
    ``overdue`` are tickets whose promise has passed. ``clashes`` are tickets whose work after a
    fitting, or after a wait, starts only when it is already due; they are planned as due then.
    Work that can start only after the laid-out bench is in no stage yet. ``on_days`` are the stages
    that are sewn on the day they were put on, ``at_risk`` those for which that cannot be.
    """

    stages: list[Stage] = field(default_factory=list)
    works: dict[str, Work] = field(default_factory=dict)
    job_of: dict[str, Job] = field(default_factory=dict)
    overdue: list[str] = field(default_factory=list)
    clashes: list[str] = field(default_factory=list)
    on_days: dict[str, date] = field(default_factory=dict)
    at_risk: list[DayAtRisk] = field(default_factory=list)


def load(jobs: Iterable[Job], bench: Bench, loose: Container[str] = frozenset()) -> Load:
    """Stages of every open operation. Work without minutes is planned as none. O(n log n).

    Work that was put on a day has that day as its window, within the window it has anyhow, but for
    the ``loose`` stages. Whether there is room for it is not asked here.
    """
    result = Load()
    for job in jobs:
        if job.promise_at <= bench.now:
            result.overdue.append(job.ticket)
        put = [work for work in job.works if work.day and work.stage not in loose]
        before = len(result.stages)
        for seq, (release, latest, work) in enumerate(_in_turn(job, bench)):
            clash = release > max(latest, 0)
            if clash and job.ticket not in result.clashes:
                result.clashes.append(job.ticket)
            if release >= len(bench.buckets):
                continue
            name, due = work.stage, release if clash else latest
            result.works[name], result.job_of[name] = work, job
            result.stages.append(Stage(name, job.ticket, seq, work.minutes, release, due))
        if put:
            result.stages[before:] = _on_days(job, put, result.stages[before:], bench, result)
    return result


def _on_days(
    job: Job, put: Iterable[Work], stages: list[Stage], bench: Bench, result: Load
) -> list[Stage]:
    """The stages of one ticket, those that were ``put`` on days with these as their windows.

    Each garment is a row of its own, so that a day holds up nothing on another garment.
    """
    works = sorted((result.works[stage.id] for stage in stages), key=_step)
    turn = {
        work.stage: place
        for place, (_, each) in enumerate(groupby(works, key=_step))
        for work in each
    }
    rows = {
        stage.id: replace(
            stage, ticket=f"{job.ticket} {result.works[stage.id].garment}", seq=turn[stage.id]
        )
        for stage in stages
    }
    trouble: dict[tuple[date, DayTrouble], list[Work]] = {}
    for work in sorted(put, key=attrgetter("stage")):
        if work.day is None:
            continue
        if (stage := rows.get(work.stage)) is None:
            trouble.setdefault((work.day, DayTrouble.TOO_EARLY), []).append(work)
            continue
        narrowed = on_day(stage, work.day, bench)
        if isinstance(narrowed, Stage):
            strand = [row for row in rows.values() if row.ticket == stage.ticket]
            others = [row for row in strand if row.id != stage.id]
            try:
                agreeable([*others, narrowed])
            except WindowError:
                narrowed = DayTrouble.ORDER
        if isinstance(narrowed, DayTrouble):
            trouble.setdefault((work.day, narrowed), []).append(work)
        else:
            rows[work.stage] = narrowed
            result.on_days[work.stage] = work.day
    result.at_risk += [
        DayAtRisk(job, tuple(works), day, why) for (day, why), works in trouble.items()
    ]
    return list(rows.values())


def on_day(stage: Stage, day: date, bench: Bench) -> Stage | DayTrouble:
    """The stage released and due on ``day``, as far as its own window reaches; or why it cannot."""
    if day < bench.today:
        return DayTrouble.PAST
    if not bench.minutes_on(day):
        return DayTrouble.CLOSED
    first, last = max(0, bench.first_of_day(day)), bench.last_of_day(day)
    if stage.release > last:
        return DayTrouble.TOO_EARLY
    if last_bucket(stage) < first:
        return DayTrouble.TOO_LATE
    return replace(stage, release=max(stage.release, first), due=min(last_bucket(stage), last))


def _in_turn(job: Job, bench: Bench) -> list[tuple[int, int, Work]]:
    """The windows of a ticket's operations in the order in which they can be taken up.

    What one operation waits for holds up those after it on its own garment, and no other garment.
    """
    rows: list[tuple[int, int, Work]] = []
    if not any(work.waits for work in job.works):
        # A fitting holds up what comes after it by itself.
        rows = [(*window(job, work, bench), work) for work in job.works]
        return sorted(rows, key=_by_release) if len(rows) > 1 else rows
    held: dict[str, int] = {}
    for _, step in groupby(sorted(job.works, key=_step), key=_step):
        works = list(step)
        before = held.get(works[0].garment, 0)
        for work in works:
            release, due = window(job, work, bench)
            rows.append((max(release, before), due, work))
            held[work.garment] = max(held.get(work.garment, 0), release)
    return sorted(rows, key=_by_release)


def _by_release(row: tuple[int, int, Work]) -> tuple[int, int, int, str, int]:
    release, _, work = row
    return release, work.after, work.order, work.garment, work.line


def _step(work: Work) -> tuple[str, int, int]:
    """Operations of one step have no order among themselves."""
    return work.garment, work.after, work.order


def window(job: Job, work: Work, bench: Bench) -> tuple[int, int]:
    """The buckets in which the work may be done: after its last fitting, before the next.

    Waiting work starts on the day it is expected to go on, and never today; what is on hold for
    nobody knows how long on no day that is laid out.
    """
    release = 0
    if work.after and job.fittings:
        before = job.fittings[min(work.after, len(job.fittings)) - 1]
        release = bench.first_after(before.ends)
    if work.on_hold:
        release = len(bench.buckets)
    elif work.waits:
        tomorrow = bench.today + timedelta(days=1)
        release = max(release, bench.first_of_day(max(work.expected or tomorrow, tomorrow)))
    due = bench.last_before(job.promise_at)
    if work.after < len(job.fittings):
        due = min(due, bench.last_before(job.fittings[work.after].starts))
    return release, due


@dataclass(frozen=True)
class PlannedMake:
    """A make of which ``minutes`` are still to be sewn, to be worn on ``day``."""

    pk: int
    words: str
    day: date
    minutes: int

    @property
    def worn_on(self) -> date | None:
        return self.day

    @property
    def stage(self) -> str:
        """It begins like the stages of own hours, and ranks before them."""
        return f"{OWN} (make {self.pk})"


@dataclass(frozen=True)
class OwnDay:
    """Own minutes that the owner put on a day, at no hour in particular; perhaps for a make."""

    day: date
    minutes: int
    make: int | None = None
    words: str = ""

    @property
    def pk(self) -> int | None:
        return self.make

    @property
    def worn_on(self) -> date | None:
        return None

    @property
    def stage(self) -> str:
        """It begins like the stages of own hours."""
        return f"{OWN} (day {self.day}{f', make {self.make}' if self.make else ''})"


def make_stages(
    makes: Sequence[PlannedMake], bench: Bench, placed_on: Mapping[date, int]
) -> list[Stage]:
    """What has to be sewn for the makes, the first to be worn first.

    They are sewn in hours that were put on days for nothing in particular (``placed_on``, already
    out of the bench); the rest needs bench time until their day.
    """
    stages: list[Stage] = []
    placed_taken = 0
    for make in sorted(makes, key=lambda make: (make.day, make.pk)):
        placed = sum(minutes for day, minutes in placed_on.items() if day <= make.day)
        taken = min(make.minutes, max(0, placed - placed_taken))
        placed_taken += taken
        due = bench.last_of_day(make.day)
        stages.append(Stage(make.stage, make.stage, 0, make.minutes - taken, 0, due))
    return stages
