"""Whether all that is promised can be kept, and what mends it: one press moves one promise."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import datetime, time
from enum import Enum

from django.contrib import messages
from django.db.models import Count
from django.db.models.fields.json import KeyTextTransform
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_POST

from jobs.planning import core
from jobs.planning.plan.bench import ShopHours, cut_each_day
from jobs.planning.plan.book import Book
from jobs.planning.plan.too_much import (
    Clash,
    Overdue,
    Overfull,
    Repair,
    Tight,
    clashes,
    overdue,
    overfull,
    tightest,
)
from jobs.planning.plan.workload import Job
from jobs.planning.queries import read_week
from jobs.tickets import actions
from jobs.tickets.forms import PromiseDayForm
from jobs.tickets.models import Ticket
from jobs.tickets.queries import ticket_or_404
from jobs.tickets.views import say_step
from studio.shop import clock
from studio.shop.http import StudioRequest, go_back
from studio.shop.locales import show_when
from studio.shop.models import Profile


@dataclass(frozen=True)
class MovablePromise:
    """A promise that could move: to the usual hour of the first open day that mends the week."""

    job: Job
    to: datetime


@dataclass(frozen=True)
class Outlook:
    """``promises`` is how many there are. ``overfull`` is None when all of them fit.

    ``bench`` is False where there is no bench time at all.
    """

    promises: int
    overfull: Overfull | None
    moves: tuple[MovablePromise, ...]
    tightest: Tight | None
    clashes: list[Clash]
    overdue: list[Overdue]
    bench: bool

    @property
    def well(self) -> bool:
        return not (self.overfull or self.clashes or self.overdue) and self.bench


def look_ahead(studio: Profile) -> Outlook:
    """The week as it stands, in as many queries as reading it takes."""
    week = read_week(studio)
    bench = cut_each_day(week.book.bench, studio.promise_time, week.rules.lost_percent)
    book = replace(week.book, bench=bench)
    try:
        full, tight = overfull(book), tightest(book)
    except core.NoBenchTimeError:
        return Outlook(len(book.jobs), None, (), None, clashes(book), overdue(book), bench=False)
    moves = tuple(
        _move(repair, book, studio.promise_time, week.hours)
        for repair in (full.moves if full else ())
    )
    return Outlook(
        promises=len(book.jobs),
        overfull=full,
        moves=moves,
        tightest=tight,
        clashes=clashes(book),
        overdue=overdue(book),
        bench=bool(week.hours.shifts),
    )


def _move(repair: Repair, book: Book, ready_by: time, hours: ShopHours) -> MovablePromise:
    day = repair.promise_day(book, ready_by, hours.is_open)
    return MovablePromise(repair.job, clock.at(day, ready_by))


class Stays(Enum):
    """Why a promise is better not moved."""

    FITTING = "comes to try on"
    EVENT = "an event"
    MOVED = "moved once"


def what_stays(book: Book, tickets: Collection[str]) -> dict[str, tuple[Stays, str]]:
    """The promises among these tickets that are better not moved: why, and for what event.

    One query. What was moved before is known from the agreements: two of them with different days.
    """
    with_fitting = {job.ticket for job in book.jobs if job.fittings}
    promises = Count(KeyTextTransform("promise_at", "agreements__data"), distinct=True)
    rows = Ticket.objects.filter(number__in=tickets).annotate(promises=promises).order_by()
    stays: dict[str, tuple[Stays, str]] = {}
    for number, event, times in rows.values_list("number", "event", "promises"):
        if number in with_fitting:
            stays[number] = Stays.FITTING, ""
        elif event:
            stays[number] = Stays.EVENT, event
        elif times > 1:
            stays[number] = Stays.MOVED, ""
    return stays


REASON = "the days before were too full"


@require_GET
def too_much(request: StudioRequest) -> HttpResponse:
    return render(request, "planning/too_much.html", {"outlook": look_ahead(request.studio)})


@require_POST
def move(request: StudioRequest, number: str) -> HttpResponse:
    """Promise this ticket for the usual hour of the day that was offered."""
    ticket = ticket_or_404(number)
    hour = request.studio.promise_time
    form = PromiseDayForm({"day": request.POST.get("day"), "time": hour, "reason": REASON})
    if not form.is_valid():
        messages.error(request, "Choose one of the days on offer.")
        return go_back(request, "too-much")
    try:
        ticket = actions.move_promise(
            ticket=ticket,
            promise_at=clock.at(form.cleaned_data["day"], hour),
            studio=request.studio,
            by=request.user,
            reason=REASON,
        )
    except actions.TicketError as wrong:
        messages.error(request, str(wrong))
        return go_back(request, "too-much")
    when = show_when(ticket.promise_at, request.studio.locale)
    words = f"Ticket {ticket.number} is promised for {when} now."
    if not request.POST.get("back"):
        words += " Print the new agreement here."
    say_step(request, ticket, words)
    return go_back(request, ticket)
