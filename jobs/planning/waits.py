"""Work that waits: put on hold, taken up again, and the list of all open questions."""

from dataclasses import dataclass
from datetime import date, datetime

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Exists, OuterRef, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.planning import actions
from jobs.planning.messages import WaitMessages, about_missed_fitting
from jobs.planning.models import STANDS, Fitting, Wait
from jobs.planning.plan.workload import GATES, TO_HANG
from jobs.planning.queries import AT_THE_BENCH, StudioWeek
from jobs.tickets.models import Line
from studio.shop import clock
from studio.shop.forms import Chips, day_input
from studio.shop.http import StudioRequest, go_back, sent
from studio.shop.locales import show_day


class WaitForm(forms.Form):
    what = forms.ChoiceField(
        label="It waits for",
        choices=Wait.What.choices,
        widget=Chips({"class": "chips big"}),
        error_messages={"required": "Say what it waits for."},
    )
    question = forms.CharField(
        label="The question, or what is missing",
        max_length=300,
        required=False,
        help_text="For you. It goes into a message to the client only when you choose so there.",
    )
    expected = forms.DateField(label="Expected on", required=False, widget=day_input())

    def clean_expected(self) -> date | None:
        day: date | None = self.cleaned_data["expected"]
        if day and day < clock.today():
            raise ValidationError("This day is over.")
        return day


def open_waits() -> QuerySet[Wait]:
    """What is waited for on tickets at the bench, the longest first, in one query."""
    return Wait.objects.filter(
        ended_at=None,
        line__done_at=None,
        line__not_done_why="",
        line__removed_at=None,
        line__garment__removed_at=None,
        line__garment__ticket__state__in=AT_THE_BENCH,
    ).select_related("line__garment__ticket__client")


def missed_fittings() -> QuerySet[Fitting]:
    """Missed ones of tickets at the bench that no later fitting makes up for, in one query."""
    later = Fitting.objects.filter(
        ticket=OuterRef("ticket"),
        starts_at__gt=OuterRef("starts_at"),
        state__in=STANDS,
    )
    missed = Fitting.objects.filter(
        ~Exists(later), state=Fitting.State.MISSED, ticket__state__in=AT_THE_BENCH
    )
    return missed.select_related("ticket__client")


@dataclass(frozen=True)
class WaitingWork:
    """An operation that waits: for ``what``, since when, and for how many whole days."""

    ticket: str
    client: str
    promise_at: datetime
    operation: str
    what: str
    question: str
    since: datetime | None
    expected: date | None
    days: int

    @property
    def on_others(self) -> bool:
        """Whether somebody else has the next word, as on the page of all that waits."""
        return self.what not in {*GATES, TO_HANG}


def waiting_work(week: StudioWeek) -> list[WaitingWork]:
    """What has waited longest is first; the work behind it waits with it and is not named."""
    bench = week.book.bench

    def days(since: datetime | None) -> int:
        return (bench.today - bench.day_of(since)).days if since else 0

    rows = [
        WaitingWork(
            ticket=job.ticket,
            client=job.client,
            promise_at=job.promise_at,
            operation=f"{work.garment} {work.name}",
            what=work.waits,
            question=work.question,
            since=work.since,
            expected=work.expected,
            days=days(work.since),
        )
        for job in week.book.jobs
        for work in job.works
        if work.waits
    ]
    return sorted(rows, key=lambda row: (-row.days, row.promise_at, row.ticket))


@require_GET
def waiting(request: StudioRequest) -> HttpResponse:
    studio = request.studio
    pictures = ("line__garment__photos", "line__garment__lines")
    waits = list(open_waits().prefetch_related(*pictures))
    missed = missed_fittings().prefetch_related(
        "ticket__garments__photos", "ticket__garments__lines"
    )
    return render(
        request,
        "planning/waiting.html",
        {
            "waits": [WaitMessages.of(wait, studio) for wait in waits],
            "tickets": len({wait.line.garment.ticket_id for wait in waits}),
            "missed": [about_missed_fitting(fitting, studio) for fitting in missed],
        },
    )


@require_http_methods(["GET", "POST"])
def line_wait(request: StudioRequest, pk: int) -> HttpResponse:
    """Say what an operation waits for."""
    line = get_object_or_404(Line.objects.select_related("garment__ticket__client"), pk=pk)
    form = WaitForm(sent(request))
    if form.is_valid():
        try:
            actions.hold(line=line, **form.cleaned_data, by=request.user)
        except actions.PlanError as wrong:
            messages.error(request, str(wrong))
        return redirect(line.garment.ticket)
    return render(request, "planning/wait.html", {"line": line, "form": form})


@require_POST
def wait_end(request: StudioRequest, pk: int) -> HttpResponse:
    """The work goes on. Says whether the promise moved with it."""
    wait = get_object_or_404(Wait.objects.select_related("line__garment__ticket"), pk=pk)
    before = wait.line.garment.ticket.promise_at
    ticket = actions.end_wait(wait=wait, studio=request.studio, by=request.user)
    day = show_day(ticket.promise_at, request.studio.locale, year=False)
    stands = "stays on" if ticket.promise_at == before else "moved to"
    messages.success(request, f"{ticket.number} is resumed. Its promise {stands} {day}.")
    return go_back(request, ticket)
