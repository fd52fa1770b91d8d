"""The day of the promise: proposed by the week, or chosen at the counter at its price."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time

from django.http import QueryDict
from django.utils.dateparse import parse_date, parse_time

from jobs.counter.dropoff.desk import DropOffDesk
from jobs.counter.dropoff.forms import FURTHEST, GarmentForm
from jobs.planning.honest_date import StandingWork, WeekAnswer, ask_week, standing_work
from jobs.planning.plan.rush import DayCost
from studio.shop import clock
from studio.shop.week import first_working_day

CHOSEN = "yes"


@dataclass(frozen=True)
class PromiseDates:
    """What the promise section says. ``answer`` is None as long as there is no work.

    ``cost`` is what the promised ``day`` takes from others or from the owner, None for nothing.
    """

    answer: WeekAnswer | None = None
    day: date | None = None
    cost: DayCost | None = None

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


def choose(data: QueryDict) -> bool:
    """Let the day that was tapped or written last be the promise; whether one was."""
    if "shown_day" not in data:
        return False
    tapped, shown = data.get("day", ""), data["shown_day"]
    if tapped and tapped != shown:
        data["promise_day"] = tapped
    elif data.get("promise_day", "") == shown:
        return False
    data["chosen"] = CHOSEN
    return True


def ask(data: QueryDict, garments: Iterable[GarmentForm], desk: DropOffDesk) -> WeekAnswer | None:
    """Ask the week about all the work on the page; None when there is none."""
    lines = [line for garment in garments for line in garment.draft.lines]
    if not lines:
        return None
    ticket = desk.standing.ticket if desk.standing else None
    known = standing_work(ticket) if ticket else StandingWork()
    try:
        hour: time | None = parse_time(data.get("promise_time", ""))
    except ValueError:
        hour = None
    hour = hour or desk.studio.promise_time
    return ask_week(desk.studio, known.asked(lines), ready_by=hour, without=ticket)


def propose(data: QueryDict, answer: WeekAnswer | None, desk: DropOffDesk, *, picked: bool) -> None:
    """Put the honest day on the page, until the owner has chosen another.

    Where the week has no answer (no work yet, none with minutes, no bench time), the usual lead
    time holds. Choosing the honest day itself hands the choice back to the week.
    """
    honest = answer.known if answer else None
    if honest and honest > desk.today + FURTHEST:
        honest = None
    if picked and honest and data["promise_day"] == honest.isoformat():
        data["chosen"] = ""
    if not data.get("chosen"):
        data["promise_day"] = (honest or first_working_day(desk.studio.lead_days)).isoformat()


def show(answer: WeekAnswer | None, day: date | None, desk: DropOffDesk) -> PromiseDates:
    """The strip around the promised day, and what that day costs."""
    if answer is None:
        return PromiseDates(day=day)
    return PromiseDates(answer, day, answer.cost(day) if day and day >= desk.today else None)


def given(day: str) -> str:
    """A day that a link brought along, as the page writes it; empty for anything else."""
    try:
        parsed = parse_date(day)
    except ValueError:
        parsed = None
    today = clock.today()
    return parsed.isoformat() if parsed and today <= parsed <= today + FURTHEST else ""
