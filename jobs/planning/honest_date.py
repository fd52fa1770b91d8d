"""Honest dates for a job asked about: a new one, or a ticket that is agreed anew."""

from collections.abc import Mapping, Set
from dataclasses import dataclass, field, replace
from datetime import date, time, timedelta
from enum import Enum
from functools import cached_property

from jobs.planning.bench_time import timed_jobs
from jobs.planning.core import Ratio, median_remaining
from jobs.planning.models import Fitting
from jobs.planning.plan.bench import cut_each_day
from jobs.planning.plan.promises import (
    AskedJob,
    AskedOperation,
    Honest,
    LikelyDay,
    Promises,
    StripDay,
    asked_for,
    likely,
)
from jobs.planning.plan.rush import DayCost, cost
from jobs.planning.plan.workload import TO_BOOK, TO_MOVE, FittingAt, job_of
from jobs.planning.queries import StudioWeek, fitting_rows, read_lines, read_week, ticket_row
from jobs.pricing.models import FittingPlace
from jobs.tickets.models import Ticket
from jobs.tickets.quoting import LineDraft, line_minutes
from studio.shop import clock
from studio.shop.models import Profile

STRIP = 14
"""Open days on the strip."""
LOOK = 60
"""Days from today among which the open ones are found."""


@dataclass(frozen=True)
class StripCell:
    """One day of the strip, as ``plan.promises.StripDay``, with its verdict.

    ``chance`` is in percent, for days before the likely one.
    """

    day: date
    spare: int
    spare_kept: int
    verdict: str
    chance: int | None = None


@dataclass(frozen=True)
class WeekAnswer:
    """What the week says to one asked job."""

    week: StudioWeek
    promises: Promises
    honest: Honest

    @property
    def known(self) -> date | None:
        """The honest date, where there is work with minutes to plan for."""
        return self.kept if self.promises.asked.minutes else None

    @cached_property
    def likely(self) -> LikelyDay:
        """The day that holds as often as the owner wants it to. One query."""
        percent, honest = self.week.rules.safe_percent, self.honest
        return likely(self.promises, timed_jobs(), honest.kept, honest.fittings, percent)

    @property
    def safe(self) -> date | None:
        """The day to propose: the likely one, once that is known, else the honest one."""
        return self.known and (self.likely.day or self.known)

    @cached_property
    def cells(self) -> list[StripCell]:
        """The next open days; where the honest one lies behind them, those from the first possible.

        The honest day is among them, wherever it lies.
        """
        over, kept = self.promises.is_over, self.honest.kept
        days = [row for row in self.honest.strip if not row.closed and not over(row.day)]
        if kept and all(row.day != kept for row in days[:STRIP]):
            days = [row for row in days if self.verdict(row.day) != "full"]
        return [
            StripCell(
                row.day,
                row.spare,
                row.spare_kept,
                self.verdict(row.day),
                self.likely.chances.get(row.day),
            )
            for place, row in enumerate(days)
            if place < STRIP or row.day in {kept, self.safe}
        ]

    @property
    def needs_fitting(self) -> bool:
        """Whether a fitting is still to be booked before some of the work."""
        asked = self.promises.asked
        return len(asked.parts) > 1 and not asked.fitting

    def fitting(self, cost: DayCost | None) -> date | None:
        """The day proposed for that fitting, where the promised day has this cost."""
        if not self.needs_fitting:
            return None
        if cost:
            return cost.fitting
        return self.honest.fittings[-1] if self.honest.fittings else None

    def is_closed(self, day: date) -> bool:
        """Whether nobody works that day; a studio that has not said its hours is never closed."""
        hours = self.week.hours
        return bool(hours.shifts) and not hours.is_open(day)

    @property
    def kept(self) -> date | None:
        """The honest date: the own hours kept, or at least the other promises."""
        return self.honest.kept or self.honest.sooner

    def verdict(self, day: date) -> str:
        """``kept`` with own hours kept, ``own`` at their cost, ``full`` where a promise breaks."""
        if self.honest.kept and day >= self.honest.kept:
            return "kept"
        return "own" if self.honest.sooner and day >= self.honest.sooner else "full"

    def cost(self, day: date) -> DayCost | None:
        """What ``day`` costs, None where it costs nothing."""
        if self.verdict(day) == "kept":
            return None
        price = cost(self.promises, day)
        return None if price.free else price


class DayState(Enum):
    """What promising a day means: nobody notices, own hours give way, or a promise breaks."""

    SAFE = "safe"
    OWN = "takes your own hours"
    FULL = "too full"
    CLOSED = "closed"


@dataclass(frozen=True)
class PromiseDay:
    """A day of the promise calendar.

    ``own`` is how many own minutes it takes, 0 where it is SAFE or FULL; ``chance`` in how many of
    a hundred futures the work is done by then, None where too few jobs are timed. ``rush`` says
    that somebody gives way for it, so that a rush may be charged; its price is the same for every
    such day (the quote with the rush percentage less the one without).
    """

    day: date
    state: DayState
    own: int = 0
    chance: int | None = None
    rush: bool = False

    @property
    def in_ten(self) -> int | None:
        """The chance as so many times out of ten, rounded down."""
        return None if self.chance is None else self.chance // 10


def promise_calendar(answer: WeekAnswer, days: int = 28) -> list[PromiseDay]:
    """``days`` days from today on, each with its answer, in one pass over the book.

    A job of one part takes of the own hours exactly what it is longer than the spare minutes beside
    them: the minutes that survive are a basis of the flow's polymatroid, and a newcomer adds to it
    what it finds room for. With a fitting to come the days that take own hours are asked one by
    one. No chance is told of days behind those that `likely` looks at.
    """
    promises, honest = answer.promises, answer.honest
    today, curve = promises.book.bench.today, answer.likely.curve
    strip = {row.day: row for row in honest.strip} if honest.kept or honest.sooner else {}
    if not strip:
        return []
    rows = []
    for day in (today + timedelta(days=ahead) for ahead in range(days)):
        if answer.is_closed(day) or promises.is_over(day):
            rows.append(PromiseDay(day, DayState.CLOSED))
            continue
        state = STATES[answer.verdict(day)]
        own = _own_taken(answer, strip.get(day), day) if state is DayState.OWN else 0
        chance = None if state is DayState.FULL else curve.get(day)
        rows.append(PromiseDay(day, state, own, chance, rush=state is DayState.OWN))
    return rows


STATES = {"kept": DayState.SAFE, "own": DayState.OWN, "full": DayState.FULL}


def _own_taken(answer: WeekAnswer, row: StripDay | None, day: date) -> int:
    promises = answer.promises
    if row and len(promises.asked.parts) == 1 and not promises.release:
        return max(0, promises.asked.minutes - row.spare_kept)
    cost = answer.cost(day)
    return sum(minutes for _, minutes in cost.lost) if cost else 0


def ask_week(
    studio: Profile, asked: AskedJob, *, ready_by: time, without: Ticket | None = None
) -> WeekAnswer:
    """Honest dates for a job promised by ``ready_by`` of a day: in the queries of the week.

    ``without`` is the ticket whose work is asked about anew.
    """
    week = read_week(studio, without=without)
    bench = cut_each_day(week.book.bench, ready_by, week.rules.lost_percent)
    book = replace(week.book, bench=bench)
    promises = Promises(book, asked, ready_by, week.hours.is_open)
    return WeekAnswer(week, promises, promises.honest(LOOK))


def hangs_until(days: int) -> date | None:
    """The day on which a hem that comes today may be levelled; None where it need not hang."""
    return clock.today() + timedelta(days=days) if days else None


@dataclass(frozen=True)
class StandingWork:
    """A ticket as it stands; the default is one that does not stand yet.

    ``spent`` are the minutes sewn on its open lines, by line; lines that are done are not among
    them. ``after`` are the lines that come after a fitting: the one to come, or one still to be
    booked. ``fitted`` says that the fitting has been. ``waits`` are the lines that wait, each
    with the day on which it is expected to go on.
    """

    spent: Mapping[int, int] = field(default_factory=dict)
    after: Set[int] = frozenset()
    fitting: FittingAt | None = None
    fitted: bool = False
    waits: Mapping[int, date] = field(default_factory=dict)

    def ask(
        self, studio: Profile, lines: list[LineDraft], *, ready_by: time, ticket: Ticket | None
    ) -> WeekAnswer:
        """What the week says to these lines on ``ticket``; see ``ask_week``."""
        return ask_week(studio, self.asked(lines), ready_by=ready_by, without=ticket)

    def asked(self, lines: list[LineDraft]) -> AskedJob:
        """What is asked of the week when the ticket is to have these lines."""
        asked = asked_for([self._piece(line) for line in lines], self.fitting)
        waiting = [day for pk, day in self.waits.items() if pk in {line.pk for line in lines}]
        waiting += [asked.hangs] if asked.hangs else []
        return replace(asked, not_before=max(waiting)) if waiting else asked

    def _piece(self, line: LineDraft) -> AskedOperation:
        early = line.fitting_place == FittingPlace.BEFORE
        if line.pk is None:
            gated = (line.fitting_first or bool(self.fitting)) and not (early or self.fitted)
            hangs = hangs_until(line.hang_days)
            return AskedOperation(line.name, line_minutes(line), gated, early, hangs)
        if line.pk not in self.spent:
            return AskedOperation(line.name, 0, before=True)
        left = median_remaining(line_minutes(line), Ratio(), self.spent[line.pk])
        gated = line.pk in self.after
        # With a fitting to come, the week says already what is after it.
        return AskedOperation(line.name, left, gated, not gated and (early or bool(self.fitting)))


def standing_work(ticket: Ticket) -> StandingWork:
    """Two queries."""
    fittings = fitting_rows(ticket.fittings.exclude(state=Fitting.State.CANCELLED))
    lines = read_lines([ticket.pk])
    job = job_of(ticket_row(ticket), lines, fittings, clock.now())
    tomorrow = clock.today() + timedelta(days=1)
    kept = any(fitting.kept for fitting in fittings)
    return StandingWork(
        spent={line.pk: line.spent or 0 for line in lines},
        after={work.line for work in job.works if work.after or work.waits in {TO_BOOK, TO_MOVE}},
        fitting=job.fittings[-1] if job.fittings else None,
        fitted=kept and not job.fittings,
        waits={line.pk: max(line.expected or tomorrow, tomorrow) for line in lines if line.waits},
    )
