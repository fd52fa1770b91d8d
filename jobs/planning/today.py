"""Today on one sheet: what is next, the day as a line of time, and what asks for care."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from itertools import zip_longest

from django.db.models import Prefetch

from jobs.planning.bench_time import minutes_behind
from jobs.planning.models import Appointment, BenchTime, Wait, is_forgotten
from jobs.planning.plan.at_risk import Excess, Mend, Risk, excess, promises_at_risk
from jobs.planning.plan.day_line import CRUMB, Block, Part, day_line
from jobs.planning.plan.weeks import DayBar, MustDoBy, day_bar, must_do
from jobs.planning.plan.workload import FittingRow, Job, LineRow, OpenTicket, Work
from jobs.planning.queries import MakeUnderWay, StudioWeek, TimeRow
from jobs.planning.waits import WaitingWork, waiting_work
from jobs.tickets.models import Garment, Line, Photo
from studio.shop.locales import show_minutes, show_near_day
from studio.shop.look import bars
from studio.shop.models import Profile, User

MOST_AT_RISK = 3
"""Promises at risk that the page shows, each with its mend; the others are a link away."""
MOST_CHOICES = 8
"""Operations offered instead of the next one."""
MOST_ON_RAIL = 4
LINE_FACTS = (
    "name", "work_order", "amount_typed", "basis", "measure", "measure_later", "note", "removed_at",
)  # fmt: skip
"""What the page says of a line: its name, how far, and what was noted."""
LEAST_LOST = 15
"""Minutes of the bench in which nothing was sewn, below which nobody need be told."""
AHEAD = 14
"""Days among which the next one with something on it is looked for."""


@dataclass(frozen=True)
class DayRow:
    """One row of a day: work, own sewing, a fitting, an appointment, or what hangs ready.

    ``asks`` marks a fitting whose hour has come and that still has to be called kept or missed.
    Behind the ``chalk`` row all that must be sewn today is sewn. ``to_tick`` are the operations of
    a ticket without minutes left; None of one that was promised for this day and hangs ready.
    ``unready`` is one that was promised for this day and whose work lies on none of its hours.
    """

    starts: datetime
    minutes: int = 0
    block: Block | None = None
    fitting: FittingRow | None = None
    appointment: Appointment | None = None
    ticket: OpenTicket | None = None
    garments: tuple[Garment, ...] = ()
    asks: bool = False
    running: bool = False
    chalk: bool = False
    to_tick: int | None = None
    unready: bool = False

    @property
    def kind(self) -> str:
        if self.block:
            return "own" if self.block.own else "work"
        if self.fitting:
            return "fitting"
        if self.appointment:
            own = self.appointment.kind == Appointment.Kind.OWN
            return "own" if own else "appointment"
        if self.unready:
            return "unready"
        return "pick-up" if self.to_tick is None else "sewn"

    @property
    def tickets(self) -> list[str]:
        """The numbers of the tickets it is about."""
        if self.block:
            return [job.ticket for job in self.block.jobs]
        return [self.ticket.number] if self.ticket else []

    @property
    def names(self) -> list[str]:
        """The operations of a block, each once."""
        parts = self.block.parts if self.block else ()
        return list(dict.fromkeys(part.work.name for part in parts))

    @property
    def small(self) -> list[tuple[Job, list[Part]]]:
        """The tickets of small things that were pooled, each with its work; else none."""
        if not self.block or len(self.block.jobs) < 2:
            return []
        return [
            (job, [part for part in self.block.parts if part.work in job.works])
            for job in self.block.jobs
        ]


@dataclass(frozen=True)
class BenchJob:
    """An operation that can be started, or that is under way, with its garment and agreed line."""

    job: Job
    work: Work
    garment: Garment | None
    line: Line | None


@dataclass(frozen=True)
class RunningClock:
    """The clock that runs, for ``minutes`` of ``planned`` ones (0 where nobody said).

    ``rest`` is what is still to be sewn on the same ticket.
    """

    time: TimeRow
    minutes: int
    forgotten: bool
    garment: Garment | None = None
    line: Line | None = None
    planned: int = 0
    rest: list[Work] = field(default_factory=list)

    @property
    def share(self) -> str:
        return bars.percent(min(1, self.minutes / self.planned)) if self.planned else ""

    @property
    def rest_minutes(self) -> int:
        return sum(work.minutes for work in self.rest)


@dataclass(frozen=True)
class RiskRow:
    """A promise at risk with its garment, and the wait to be asked about, where there is one."""

    risk: Risk
    garment: Garment | None
    wait: Wait | None = None


@dataclass(frozen=True)
class Coming:
    """A coming day with something on it, ``next`` where that is tomorrow."""

    day: date
    must: int
    rows: list[DayRow]
    next: bool


@dataclass(frozen=True)
class DaySheet:
    """All of it. ``bench`` is the minutes left today, ``open`` whether today is a working day.

    ``next`` is what to take up where no clock runs, ``first`` its operation, ``next_day`` the day
    on which the plan has it if that is not today, and ``others`` what could be taken up instead.
    ``to_sew`` is the number of tickets that have work left. ``ready`` begins with what was promised
    by today. ``unmeasured`` are operations that nobody has measured yet, ``untimed`` those done
    today of which nobody wrote down the minutes, each with its ticket; ``done`` all those done
    today; ``under_way`` the makes that are. ``coming`` is told where nothing is left for clients
    today: the next day with something on it and, where that is not it, the next with client work.
    ``garments`` are those shown, by their ticket's key.
    """

    day: date
    now: datetime
    open: bool
    bench: int
    due: MustDoBy
    bar: bars.Bar
    sewn: DayBar
    over: Excess | None
    rows: list[DayRow]
    next: DayRow | None
    first: BenchJob | None
    next_day: date | None
    to_sew: int
    others: list[BenchJob]
    at_risk: list[Risk]
    risks: list[RiskRow]
    waiting: list[WaitingWork]
    ready: list[OpenTicket]
    unmeasured: list[tuple[LineRow, OpenTicket]]
    untimed: list[tuple[LineRow, OpenTicket]]
    done: list[tuple[LineRow, OpenTicket]]
    under_way: list[MakeUnderWay]
    running: RunningClock | None
    coming: list[Coming]
    garments: dict[int, list[Garment]]

    @property
    def on_others(self) -> list[WaitingWork]:
        return [row for row in self.waiting if row.on_others]

    @property
    def tickets_on_others(self) -> int:
        """As many as the list of tickets and the page of all that waits have."""
        return len({row.ticket for row in self.on_others})

    @property
    def not_yet(self) -> list[WaitingWork]:
        """What waits for a step of the studio: a fitting to book, a hem to mark or to hang."""
        return [row for row in self.waiting if not row.on_others]

    @property
    def must(self) -> int:
        """Client minutes that must be sewn today, those among them that are."""
        return self.sewn.done_clients + self.due.minutes

    @property
    def evening(self) -> bool:
        """Whether something was sewn today and nothing is left to sew."""
        return not self.running and not self.next and bool(self.done or self.sewn.sewn)

    @property
    def after_hours(self) -> bool:
        """Whether the bench is shut, for today or all day, and what is late is still to be sewn."""
        return not self.bench and self.next is not None and self.next.kind == "work"

    @property
    def all_sewn(self) -> bool:
        """Whether nothing that was promised by today is left."""
        return not any(risk.job and risk.promised <= self.day for risk in self.at_risk)

    @property
    def worked_on(self) -> list[OpenTicket]:
        """The tickets of which something was done today."""
        return list({ticket.pk: ticket for _, ticket in self.done}.values())


def day_sheet(week: StudioWeek, studio: Profile, by: User) -> DaySheet:
    """Today as ``by`` sees it: the running clock is each person's own, own sewing the owner's.

    Three queries for the garments, and one for the waits to be asked about where there are any.
    """
    book, today = week.book, week.book.bench.today
    due = must_do(book, today)
    over = excess(book) if due.overfull else None
    at_risk = promises_at_risk(
        book, studio.promise_time, week.hours.is_open, MOST_AT_RISK, overfull=over is not None
    )
    rows, time = day_rows(week, today, due, by), running_row(week, by)
    coming = [] if any(row.kind == "work" for row in rows) else _coming(week, by)
    later = [row for day in coming for row in day.rows]
    if not by.is_owner:
        at_risk = [risk for risk in at_risk if risk.job]
    done = [(line, week.ticket_of[line.ticket]) for line in week.finished]
    ready = _ready(week)
    numbers = {ticket.number: ticket for ticket in week.tickets}
    shown = {number for row in [*rows, *later] for number in row.tickets}
    shown |= {risk.job.ticket for risk in at_risk[:MOST_AT_RISK] if risk.job}
    shown |= {ticket.number for ticket in [*(ticket for _, ticket in done), *ready[:MOST_ON_RAIL]]}
    if time and time.ticket:
        shown.add(time.ticket)
    garments = read_garments({numbers[number].pk for number in shown if number in numbers})
    hung = {number: garments.get(numbers[number].pk, []) for number in shown if number in numbers}
    rows = [_with_garments(row, hung, time) for row in rows]
    last = max((at for at, row in enumerate(rows) if row.block and row.block.must), default=None)
    if last is not None:
        rows[last] = replace(rows[last], chalk=True)
    coming = [replace(day, rows=[_with_garments(row, hung) for row in day.rows]) for day in coming]
    sewn = day_bar(book, today, minutes_behind(week))
    too_much = None
    if over:
        words = f"Does not fit by {show_near_day(over.day, studio.locale)}"
        too_much = bars.Part("over", over.minutes, words)
    later = [row for day in coming for row in day.rows]
    first = _next(week, rows, later)
    others = _choices([*([first] if first else []), *rows, *later], hung)
    return DaySheet(
        day=today,
        now=book.bench.now,
        open=week.hours.is_open(today),
        bench=book.bench.minutes_on(today),
        due=due,
        bar=_bar(week, due.minutes, sewn, too_much, by),
        sewn=sewn,
        over=over,
        rows=rows,
        next=None if time else first,
        first=others[0] if first and first.kind == "work" else None,
        next_day=next((day.day for day in coming if first in day.rows), None),
        to_sew=sum(job.minutes > 0 for job in book.jobs),
        others=others,
        at_risk=at_risk,
        risks=_risk_rows(at_risk[:MOST_AT_RISK], hung),
        waiting=waiting_work(week),
        ready=ready,
        unmeasured=_unmeasured(week),
        untimed=_untimed(week),
        done=done,
        under_way=week.under_way,
        running=_running(week, time, hung) if time else None,
        coming=coming,
        garments=garments,
    )


def _next(week: StudioWeek, rows: list[DayRow], later: list[DayRow]) -> DayRow | None:
    """What to take up next: the first block of today, but for four cases.

    When the bench is shut, after hours or on a closed day, what is late or due today is still next:
    it is for whoever sews all the same. Before own sewing
    comes client work that is late or due today, wherever the plan has it; and the first of it where
    all that is promised takes no longer than that own stretch, which then follows. A crumb of own
    time is nobody's next thing (the program's choices).
    """
    blocks = [row for row in rows if row.block and not row.running]
    works = [row for row in [*blocks, *later] if row.kind == "work"]
    first = next(iter(blocks), None)
    today = week.book.bench.today
    if first and first.kind == "work":
        return first
    for row in works:
        if row.block and any(
            week.book.bench.day_of(job.promise_at) <= today for job in row.block.jobs
        ):
            return row
    if first is None or not first.block:
        return first
    own = first.minutes
    promised = sum(job.minutes for job in week.book.jobs)
    if (works and not first.block.put and promised <= own) or own < CRUMB:
        return next(iter(works), None)
    return first


def read_garments(tickets: Collection[int]) -> dict[int, list[Garment]]:
    """What is on these tickets, with lines and photographs, by the ticket's key. Three queries."""
    if not tickets:
        return {}
    rows: dict[int, list[Garment]] = defaultdict(list)
    garments = Garment.objects.filter(ticket__in=tickets, removed_at=None).order_by("pk")
    lines = Line.objects.filter(removed_at=None).order_by("work_order", "pk")
    shown = garments.only("ticket", "letter", "kind_name", "colour", "hangs").prefetch_related(
        Prefetch("lines", lines.only("garment", *LINE_FACTS)),
        Prefetch("photos", Photo.objects.order_by("pk").only("garment")),
    )
    for garment in shown:
        rows[garment.ticket_id].append(garment)
    return rows


def day_rows(week: StudioWeek, day: date, due: MustDoBy, by: User) -> list[DayRow]:
    """A day in clock order. On today what has to be called kept or missed stands at its own day,
    and so does what was promised before and only has to be ticked or called ready."""
    book, now = week.book, week.book.bench.now
    today = day == book.bench.today
    rows = [
        DayRow(block.starts, block.minutes, block=block)
        for block in day_line(book, day, due.needed)
    ]
    for fitting in week.fittings:
        asks = today and fitting.booked and fitting.starts <= now
        if asks or (book.bench.day_of(fitting.starts) == day and not fitting.fell_through):
            ticket = week.ticket_of[fitting.ticket]
            rows.append(
                DayRow(fitting.starts, fitting.minutes, fitting=fitting, ticket=ticket, asks=asks)
            )
    rows += [
        DayRow(appointment.starts_at, appointment.minutes, appointment=appointment)
        for appointment in week.appointments
        if book.bench.day_of(appointment.starts_at) == day and appointment.ends_at > now
    ]
    rows += [
        DayRow(ticket.promise_at, ticket=ticket)
        for ticket in week.tickets
        if ticket.ready and book.bench.day_of(ticket.promise_at) == day
    ]
    if today:
        rows += _without_minutes(week)
    at_hand = {number for row in rows for number in row.tickets if not row.fitting}
    rows += [
        DayRow(ticket.promise_at, ticket=ticket, unready=True)
        for ticket in week.tickets
        if ticket.at_the_bench
        and book.bench.day_of(ticket.promise_at) == day
        and ticket.number not in at_hand
    ]
    if not by.is_owner:
        rows = [row for row in rows if row.kind != "own"]
    return sorted(rows, key=lambda row: row.starts)


def _without_minutes(week: StudioWeek) -> list[DayRow]:
    """Tickets promised by today, or sewn today, that only have to be ticked or called ready: now,
    or since their promise."""
    bench = week.book.bench
    left = {job.ticket: job for job in week.book.jobs}
    worked_on = {line.ticket for line in week.finished}
    rows = []
    for ticket in week.tickets:
        if not ticket.at_the_bench:
            continue
        job = left.get(ticket.number)
        if job and (job.minutes or any(work.waits for work in job.works)):
            continue
        if ticket.pk in worked_on or bench.day_of(ticket.promise_at) <= bench.today:
            starts = min(ticket.promise_at, bench.now)
            rows.append(DayRow(starts, ticket=ticket, to_tick=len(job.works) if job else 0))
    return rows


def _coming(week: StudioWeek, by: User) -> list[Coming]:
    """The next day with something on it and the next with client work, within two weeks."""
    days: list[Coming] = []
    work_left = any(job.minutes for job in week.book.jobs)
    for ahead in range(1, AHEAD + 1):
        day = week.book.bench.today + timedelta(days=ahead)
        due = must_do(week.book, day)
        rows = day_rows(week, day, due, by)
        works = any(row.kind == "work" for row in rows)
        if works or (rows and not days):
            days.append(Coming(day, due.minutes, rows, next=ahead == 1))
        if works or (days and not work_left):
            break
    return days


def _with_garments(
    row: DayRow, hung: Mapping[str, list[Garment]], time: TimeRow | None = None
) -> DayRow:
    """The row with the garments it is about; and whether the clock runs for it."""
    wanted = None
    if row.block:
        wanted = {(job.ticket, part.work.garment) for job, part in _works(row.block)}
    garments = tuple(
        garment
        for number in row.tickets
        for garment in hung.get(number, ())
        if wanted is None or (number, garment.letter) in wanted
    )
    running = time is not None and row.block is not None and _runs_for(time, row.block)
    return replace(row, garments=garments, running=running)


def _runs_for(time: TimeRow, block: Block) -> bool:
    if block.jobs:
        return any(part.work.line == time.line for part in block.parts)
    make = block.make.pk if block.make else None
    return time.purpose == BenchTime.Purpose.OWN and time.make == make


def _works(block: Block) -> Iterator[tuple[Job, Part]]:
    """The parts of a block, each with its ticket."""
    for job in block.jobs:
        for part in block.parts:
            if part.work in job.works:
                yield job, part


def _choices(rows: Iterable[DayRow], hung: Mapping[str, list[Garment]]) -> list[BenchJob]:
    """What can be taken up, in the order of the line; of each block what comes first, first."""
    blocks = [list(_works(row.block)) for row in rows if row.block and not row.running]
    turns = [pair for turn in zip_longest(*blocks) for pair in turn if pair]
    first = blocks[0][:1] if blocks and blocks[0] else []
    works = {part.work.line: (job, part.work) for job, part in [*first, *turns]}
    return [_bench_job(job, work, hung) for job, work in works.values()][:MOST_CHOICES]


def _bench_job(job: Job, work: Work, hung: Mapping[str, list[Garment]]) -> BenchJob:
    garment, line = _line_of(work.line, hung.get(job.ticket, ()))
    return BenchJob(job, work, garment, line)


def _line_of(pk: int, garments: Iterable[Garment]) -> tuple[Garment | None, Line | None]:
    for garment in garments:
        for line in garment.lines.all():
            if line.pk == pk:
                return garment, line
    return None, None


def running_row(week: StudioWeek, by: User) -> TimeRow | None:
    """The bench time of ``by`` that runs."""
    mine = (time for time in week.times if time.minutes is None and time.by == by.pk)
    return next(mine, None)


def _running(week: StudioWeek, time: TimeRow, hung: Mapping[str, list[Garment]]) -> RunningClock:
    now = week.book.bench.now
    gone = max(timedelta(), now - time.started_at) // timedelta(minutes=1)
    garment, line = None, None
    planned, rest = 0, []
    if time.line and time.ticket:
        garment, line = _line_of(time.line, hung.get(time.ticket, ()))
        jobs = (job for job in week.book.jobs if job.ticket == time.ticket)
        for work in (work for job in jobs for work in job.works):
            if work.line == time.line:
                planned = work.minutes
            elif not work.waits:
                rest.append(work)
    return RunningClock(
        time, gone, is_forgotten(time.started_at, now), garment, line, planned, rest
    )


def _bar(week: StudioWeek, must: int, sewn: DayBar, over: bars.Part | None, by: User) -> bars.Bar:
    """Clients, own sewing, releases, what keeps from the bench, and what is free, as one day."""
    clients, own = sewn.clients + sewn.done_clients, sewn.own + sewn.done_own
    shown = ""
    if 0 < sewn.done_clients < clients:
        shown = f"{show_minutes(sewn.done_clients)} of {show_minutes(clients)}"
    parts = [bars.Part("clients", clients, done=sewn.done_clients, shown=shown)]
    if by.is_owner:
        parts += [
            bars.Part("own", own, "Yours", done=sewn.done_own),
            bars.Part("releases", sewn.done_releases, done=sewn.done_releases),
        ]
    others = (row for row in week.appointments if row.kind == Appointment.Kind.OTHER)
    fittings_only = all(week.book.bench.day_of(row.starts_at) != sewn.day for row in others)
    parts += [
        bars.Part(
            "fittings",
            sewn.appointments + sewn.done_appointments,
            "" if fittings_only else "Appointments",
            done=sewn.done_appointments,
        ),
        bars.Part("free", sewn.free),
        bars.Part("lost", sewn.lost if sewn.lost >= LEAST_LOST else 0),
    ]
    size = sum(part.amount for part in parts)
    if over:
        return bars.Bar([*parts, over], size=size, ticks=60, about="Today at the bench")
    chalk = sewn.done_clients + must if must else 0
    return bars.Bar(parts, size=size, must=chalk, ticks=60, about="Today at the bench")


def _risk_rows(risks: list[Risk], hung: Mapping[str, list[Garment]]) -> list[RiskRow]:
    asked = [risk.work.line for risk in risks if risk.mend is Mend.ASK and risk.work]
    waits = {}
    if asked:
        open_waits = Wait.objects.filter(line__in=asked, ended_at=None)
        related = open_waits.select_related("line__garment__ticket__client")
        waits = {wait.line_id: wait for wait in related}
    return [
        RiskRow(
            risk,
            _garment_at_risk(risk, hung.get(risk.job.ticket, []) if risk.job else []),
            waits.get(risk.work.line) if risk.work else None,
        )
        for risk in risks
    ]


def _garment_at_risk(risk: Risk, garments: list[Garment]) -> Garment | None:
    """That of the operation, or the first that is still to be sewn."""
    works = [risk.work] if risk.work else risk.job.works if risk.job else ()
    letters = {work.garment for work in works}
    named = (garment for garment in garments if garment.letter in letters)
    return next(named, None) or next(iter(garments), None)


def _ready(week: StudioWeek) -> list[OpenTicket]:
    """Who may come for it today: those promised last are first, those of later days behind."""
    bench = week.book.bench
    ready = [ticket for ticket in week.tickets if ticket.ready]
    by_today = [ticket for ticket in ready if bench.day_of(ticket.promise_at) <= bench.today]
    return [*reversed(by_today), *(ticket for ticket in ready if ticket not in by_today)]


def _unmeasured(week: StudioWeek) -> list[tuple[LineRow, OpenTicket]]:
    """What was promised first is first."""
    rows = [(line, week.ticket_of[line.ticket]) for line in week.unmeasured]
    return sorted(rows, key=lambda row: (row[1].promise_at, row[1].number))


def _untimed(week: StudioWeek) -> list[tuple[LineRow, OpenTicket]]:
    still_running = {time.line for time in week.times if time.minutes is None}
    return [
        (line, week.ticket_of[line.ticket])
        for line in week.finished
        if line.spent is None and line.pk not in still_running
    ]
