"""The day of the promise: proposed by the week, or chosen at the counter at its price."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time

from django.utils.dateparse import parse_date, parse_time

from jobs.counter.dropoff.checks import FURTHEST
from jobs.counter.dropoff.reading import ReadGarment, Standing
from jobs.counter.dropoff.slate import Slate
from jobs.planning.plan.rush import DayCost
from jobs.planning.questions import STRIP, WeekAnswer, ask_week
from jobs.planning.standing import StandingWork, standing_work
from studio.shop import clock
from studio.shop.models import Profile
from studio.shop.week import Week, first_working_day

CHOSEN = "yes"


@dataclass(frozen=True)
class Cell:
    """One day of the strip. ``verdict`` is as of ``WeekAnswer.verdict``."""

    day: date
    spare: int
    spare_kept: int
    verdict: str
    chosen: bool


@dataclass(frozen=True)
class Dates:
    """What the promise section says. ``answer`` is None as long as there is no work.

    ``cost`` is what the promised ``day`` takes from others or from the owner; None for nothing.
    ``lead_days`` is the usual time where the week has no answer.
    """

    answer: WeekAnswer | None
    day: date | None
    cells: list[Cell]
    cost: DayCost | None
    lead_days: int

    @property
    def found(self) -> bool:
        """Whether the week knows a day for this work."""
        return bool(self.answer and self.answer.kept and self.answer.promises.asked.minutes)

    @property
    def needs_fitting(self) -> bool:
        """Whether a fitting is still to be booked before some of the work."""
        asked = self.answer.promises.asked if self.answer else None
        return bool(asked and len(asked.parts) > 1 and not asked.fitting)

    @property
    def fitting(self) -> date | None:
        """The day proposed for the fitting."""
        if not self.answer or not self.needs_fitting:
            return None
        if self.cost:
            return self.cost.fitting
        return self.answer.honest.fittings[-1] if self.answer.honest.fittings else None

    @property
    def lost(self) -> tuple[tuple[date, int], ...]:
        """Own minutes by week that the promised day takes."""
        return self.cost.lost if self.cost else ()


def choose(slate: Slate) -> bool:
    """Let the day that was tapped or written last be the promise; whether one was."""
    typed = slate.typed
    if "shown_day" not in typed:
        return False
    tapped, shown = typed.text("day"), typed.text("shown_day")
    if tapped and tapped != shown:
        typed.put(promise_day=tapped)
    elif typed.text("promise_day") == shown:
        return False
    typed.put(chosen=CHOSEN)
    return True


def ask(
    slate: Slate, garments: Iterable[ReadGarment], studio: Profile, standing: Standing | None
) -> WeekAnswer | None:
    """Ask the week about all the work on the page; None when there is none."""
    lines = [line.draft for one in garments if not one.gone for line in one.standing_lines]
    if not lines:
        return None
    known = standing_work(standing.ticket) if standing else StandingWork()
    return ask_week(
        studio,
        known.asked(lines),
        ready_by=_hour(slate, studio),
        without=standing.ticket if standing else None,
    )


def propose(
    slate: Slate, answer: WeekAnswer | None, studio: Profile, week: Week, *, picked: bool
) -> None:
    """Put the honest day on the slate, until the owner has chosen another.

    Where the week has no answer (no work yet, none with minutes, no bench time), the usual lead
    time holds. Choosing the honest day itself hands the choice back to the week.
    """
    typed = slate.typed
    honest = answer.kept if answer and answer.promises.asked.minutes else None
    if honest and honest > clock.today() + FURTHEST:
        honest = None
    if picked and honest and typed.text("promise_day") == honest.isoformat():
        typed.put(chosen="")
    if not typed.text("chosen"):
        day = honest or first_working_day(studio.lead_days, week)
        typed.put(promise_day=day.isoformat())


def show(answer: WeekAnswer | None, day: date | None, studio: Profile) -> Dates:
    """The strip around the promised day, and what that day costs."""
    if answer is None:
        return Dates(None, day, [], None, studio.lead_days)
    cost = answer.cost(day) if day and day >= clock.today() else None
    return Dates(answer, day, _cells(answer, day), cost, studio.lead_days)


def _cells(answer: WeekAnswer, day: date | None) -> list[Cell]:
    """The next open days, and the honest one wherever it lies."""
    honest = answer.honest
    over = answer.promises.is_over
    days = [row for row in honest.strip if not row.closed and not over(row.day)]
    shown = [row for place, row in enumerate(days) if place < STRIP or row.day == honest.kept]
    return [
        Cell(row.day, row.spare, row.spare_kept, answer.verdict(row.day), row.day == day)
        for row in shown
    ]


def _hour(slate: Slate, studio: Profile) -> time:
    """The hour that is typed for the promise, else the usual one."""
    try:
        typed = parse_time(slate.typed.text("promise_time"))
    except ValueError:
        typed = None
    return typed or studio.promise_time


def given(day: str) -> str:
    """A day that a link brought along, as the page writes it; empty for anything else."""
    try:
        found = parse_date(day)
    except ValueError:
        found = None
    today = clock.today()
    return found.isoformat() if found and today <= found <= today + FURTHEST else ""
