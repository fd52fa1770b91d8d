"""Counted back from a client's event: fittings, hang, hem, bustle and press, each with its day.

How long before the event is the studio's habit and can be changed. What is proposed, three months
down to two days, is common practice of bridal rooms (from memory): gowns are fitted two or three
times, hang before they are hemmed in the shoes they are worn with, and are pressed last.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import partial
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from jobs.planning import actions
from jobs.planning.fittings import fitting_search
from jobs.planning.models import STANDS, Fitting, PlanRules
from jobs.planning.queries import StudioWeek, read_week
from jobs.pricing.models import WorkOrder
from jobs.tickets.models import Garment, Line, Ticket
from jobs.tickets.queries import ticket_or_404
from studio.shop import clock
from studio.shop.http import StudioRequest, go_back, owner_only
from studio.shop.models import Profile

# Each step: its name, and how many days before the event it is by habit.
STEPS = {
    "first": ("First fitting", 70),
    "next": ("Next fitting", 42),
    "hang": ("Hang", 31),
    "hem": ("Hem", 28),
    "bustle": ("Bustle", 14),
    "final": ("Final fitting", 10),
    "press": ("Press", 2),
}
MOST_DAYS = 365
OFFERED = 3
FITTING_MINUTES = 30


@dataclass(frozen=True)
class EventStep:
    """One step. ``aim`` is the day by habit, ``day`` the one that the plan knows, None where there
    is none; ``times`` are free for a fitting that is to be booked next. ``late`` are the days
    after ``aim``; ``works`` says that the ticket has work for it, or that it needs none.
    """

    key: str
    name: str
    aim: date
    day: date | None = None
    done: bool = False
    works: bool = True
    detail: str = ""
    times: tuple[datetime, ...] = ()
    fitting: Fitting | None = None
    late: int = 0
    too_late: bool = False


@dataclass(frozen=True)
class EventBook:
    """All steps of a ticket in the order of their days. ``squeezed`` says that it came in later
    than the longest habit, so that all are nearer to each other in proportion.
    """

    event_on: date
    since: date
    today: date
    steps: list[EventStep]
    squeezed: bool

    def place(self, day: date) -> str:
        """Where a day stands on the line from the drop-off to the event, in per cent."""
        whole = max(1, (self.event_on - self.since).days)
        return f"{min(96, max(2, 2 + 94 * (day - self.since).days / whole)):.1f}%"

    @property
    def rows(self) -> Iterator[tuple[EventStep, str, str]]:
        """Each step that the ticket has, with where its aim and its day stand."""
        for step in self.steps:
            if step.works:
                yield step, self.place(step.aim), self.place(step.day) if step.day else ""

    @property
    def absent(self) -> list[str]:
        return [step.name for step in self.steps if not step.works]

    @property
    def now(self) -> str:
        return self.place(self.today)

    @property
    def end(self) -> str:
        return self.place(self.event_on)


def habits(rules: PlanRules) -> dict[str, int]:
    """Days before the event by step."""
    return {key: int(rules.event_days.get(key, days)) for key, (_, days) in STEPS.items()}


def event_day(ticket: Ticket) -> date:
    """The day by which it is wanted; where none was said, that of the promise."""
    return ticket.wanted_by or clock.local(ticket.promise_at).date()


def event_book(ticket: Ticket, studio: Profile) -> EventBook:
    """The week's queries and four more, whatever the ticket holds; at most one search for times."""
    week = read_week(studio)
    event_on, since = event_day(ticket), clock.local(ticket.received_at).date()
    asked = habits(week.rules)
    there, longest = max(0, (event_on - since).days), max(asked.values())
    squeezed = there < longest
    aims = {
        key: _open_before(week, event_on - timedelta(days=_nearer(days, there, longest)), since)
        for key, days in asked.items()
    }
    # What has left is pressed no more.
    leaves = clock.local(ticket.promise_at).date()
    aims["press"] = min(aims["press"], _open_before(week, leaves, since))
    garments = list(ticket.garments.filter(removed_at=None).prefetch_related("lines"))
    fittings = list(ticket.fittings.filter(state__in=STANDS))
    steps = [
        *_fittings(ticket, week, fittings, aims, event_on),
        *_works(ticket, week, garments, aims, event_on),
    ]
    steps.sort(key=lambda step: (step.aim, [*STEPS].index(step.key)))
    return EventBook(event_on, since, clock.today(), steps, squeezed)


def _nearer(days: int, there: int, longest: int) -> int:
    return days if there >= longest else days * there // longest


def _open_before(week: StudioWeek, day: date, since: date) -> date:
    """The day, or the last open one before it; not before the garment came."""
    for back in range(7):
        earlier = day - timedelta(days=back)
        if week.hours.is_open(earlier):
            return max(earlier, since)
    return max(day, since)


def _step(
    key: str, aim: date, event_on: date, *, day: date | None = None, **facts: Any
) -> EventStep:
    """How late it is: by its own day, by today where it has none yet."""
    done, works = facts.get("done", False), facts.get("works", True)
    reckoned = max(day or clock.today(), aim)
    late = 0 if done or not works else (reckoned - aim).days
    too_late = bool(late) and reckoned >= event_on
    return EventStep(
        key, STEPS[key][0], aim, day=day, late=late, too_late=too_late, **facts
    )  # fmt: skip


def _fittings(
    ticket: Ticket, week: StudioWeek, fittings: list[Fitting], aims: dict[str, date], event_on: date
) -> Iterator[EventStep]:
    """Those that are booked or kept; the next that is not gets free times from its aim on."""
    kinds = Fitting.Kind.values
    by_kind = {fitting.kind: fitting for fitting in reversed(fittings)}
    last = max((kinds.index(kind) for kind in by_kind), default=-1)
    searched = not ticket.is_open
    for place, kind in enumerate(kinds):
        if fitting := by_kind.get(kind):
            day = clock.local(fitting.starts_at).date()
            done = fitting.state == Fitting.State.KEPT
            yield _step(kind, aims[kind], event_on, day=day, done=done, fitting=fitting)
        elif place < last:
            # One that was left out is not asked for once a later one stands.
            yield _step(kind, aims[kind], event_on, works=False)
        elif searched:
            yield _step(kind, aims[kind], event_on)
        else:
            searched = True
            search = fitting_search(ticket, week, FITTING_MINUTES)
            times = search.offer(max(aims[kind], clock.today())).times[:OFFERED]
            earliest = clock.local(times[0]).date() if times else None
            step = _step(kind, aims[kind], event_on, day=earliest, times=times)
            yield replace(step, day=None)


def _works(
    ticket: Ticket, week: StudioWeek, garments: list[Garment], aims: dict[str, date], event_on: date
) -> Iterator[EventStep]:
    lines = [
        (garment, line)
        for garment in garments
        for line in garment.lines.all()
        if line.removed_at is None and not line.not_done_why
    ]
    hems = [(garment, line) for garment, line in lines if line.work_order == WorkOrder.HEM]
    hang = max((line.hang_days for _, line in lines), default=0)
    came = clock.local(ticket.received_at).date()
    hung = came + timedelta(days=hang)
    yield _step(
        "hang", aims["hang"], event_on, day=hung if hang else None, works=bool(hang),
        done=bool(hang) and hung <= clock.today(), detail=f"{hang} days" if hang else "",
    )  # fmt: skip
    shoes = ", ".join(
        dict.fromkeys(
            f"in {garment.shoes or 'the event shoes'}"
            + (f", heel {garment.heel_typed}" if garment.heel_typed else ", heel not known")
            for garment, _ in hems
        )
    )
    hem = _step_of("hem", aims, event_on, detail=shoes)
    yield _of_lines([line for _, line in hems], week, hem)
    finish = [line for _, line in lines if line.work_order == WorkOrder.FINISH]
    bustle = [line for line in finish if "bustle" in line.name.casefold()]
    yield _of_lines(bustle, week, _step_of("bustle", aims, event_on))
    press = [line for _, line in lines if "press" in line.name.casefold()]
    if press or not ticket.is_open:
        yield _of_lines(press, week, _step_of("press", aims, event_on))
        return
    # All is pressed when it is ready: the plan's last day counts where it is after the habit.
    ready = _planned(week, ticket)
    day = ready if ready and ready > aims["press"] else None
    yield _step("press", aims["press"], event_on, day=day)


def _of_lines(lines: list[Line], week: StudioWeek, step: Callable[..., EventStep]) -> EventStep:
    """When the last of the lines is sewn: done already, or by the plan."""
    if not lines:
        return step(works=False)
    ends = [clock.local(line.done_at).date() for line in lines if line.done_at]
    if len(ends) == len(lines):
        return step(day=max(ends), done=True)
    planned = last_days(week)
    days = [planned.get(f"line-{line.pk}") for line in lines if not line.done_at]
    known = [day for day in days if day]
    return step(day=max(known) if len(known) == len(days) else None)


def _step_of(
    key: str, aims: dict[str, date], event_on: date, **facts: Any
) -> Callable[..., EventStep]:
    return partial(_step, key, aims[key], event_on, **facts)


def last_days(week: StudioWeek) -> dict[str, date]:
    """The day on which the plan sews the last of each stage. O(buckets)."""
    book = week.book
    return {
        stage: book.day_of(bucket)
        for bucket, pieces in enumerate(book.plan.days)
        for stage, _ in pieces
    }


def _planned(week: StudioWeek, ticket: Ticket) -> date | None:
    """When the plan sews the last of the ticket's work; None where it cannot say."""
    stages = {
        work.stage
        for job in week.book.jobs
        if job.ticket == ticket.number
        for work in job.works
    }  # fmt: skip
    days = [day for stage, day in last_days(week).items() if stage in stages]
    return max(days, default=None)


class HabitsForm(forms.Form):
    """Days before the event, a field a step."""

    def __init__(self, *args: Any, rules: PlanRules, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for key, days in habits(rules).items():
            self.fields[key] = forms.IntegerField(
                label=STEPS[key][0], min_value=0, max_value=MOST_DAYS, initial=days,
                widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
            )  # fmt: skip


@require_GET
def event(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    book = event_book(ticket, request.studio)
    context = {"ticket": ticket, "book": book}
    if request.user.is_owner:
        context["form"] = HabitsForm(rules=PlanRules.load())
    return render(request, "planning/event.html", context)


@owner_only
@require_POST
def event_habits(request: StudioRequest) -> HttpResponse:
    """How long before an event each step is, for all tickets from now on."""
    rules = PlanRules.load()
    form = HabitsForm(request.POST, rules=rules)
    if form.is_valid():
        rules.event_days = form.cleaned_data
        actions.set_rules(rules=rules, by=request.user)
        messages.success(request, "Saved.")
    else:
        messages.error(request, f"Not saved: write whole days, from 0 to {MOST_DAYS}.")
    return go_back(request, redirect("week").url)
