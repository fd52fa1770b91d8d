"""The bench clock: one tap to start, one to stop, or an honest guess afterwards."""

from collections.abc import Callable
from typing import TypeVar

from django.contrib import messages
from django.db.models import Model, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET, require_POST

from jobs.makes.ideas.actions import MakeError
from jobs.makes.models import Make, Stage
from jobs.planning import actions
from jobs.planning.day import GUESSES
from jobs.planning.making import make_time
from jobs.planning.models import BenchTime
from jobs.planning.time_forms import CatchUpForm, StartForm, StopForm
from jobs.tickets.actions import TicketError
from jobs.tickets.models import Line
from studio.shop import clock
from studio.shop.http import StudioRequest, go_back
from studio.shop.locales import show_minutes

Row = TypeVar("Row", bound=Model)

LINES = Line.objects.select_related("garment__ticket")


@require_POST
def start(request: StudioRequest) -> HttpResponse:
    """Work begins on an operation, a make, a stage of a release, or own sewing at large."""
    form = StartForm(request.POST)
    if form.is_valid():
        told = form.cleaned_data
        line = _named(LINES, told["line"])
        make = _named(Make.objects.all(), told["make"])
        stage = _named(Stage.objects.all(), told["stage"])
        _try(
            request,
            lambda: actions.start_clock(
                line=line, make=make, stage=stage, purpose=told["purpose"], by=request.user
            ),
        )
    return go_back(request, "today")


@require_POST
def stop(request: StudioRequest) -> HttpResponse:
    """Work stops; with ``done`` its operation is ticked as well."""
    form = StopForm(request.POST)
    if not form.is_valid():
        for wrong in form.errors.values():
            messages.error(request, str(wrong[0]))
        return go_back(request, "today")
    verb = actions.finish_work if form.cleaned_data["done"] else actions.stop_clock
    time = _try(request, lambda: verb(by=request.user, minutes=form.cleaned_data["minutes"]))
    if time:
        messages.success(request, f"{_what(time)}: {show_minutes(time.minutes or 0)}.")
    return go_back(request, "today")


@require_POST
def catch_up(request: StudioRequest) -> HttpResponse:
    """About so many minutes, for what was done without the clock."""
    form = CatchUpForm(request.POST)
    if not form.is_valid():
        for wrong in form.errors.values():
            messages.error(request, str(wrong[0]))
        return go_back(request, "today")
    told, by = form.cleaned_data, request.user
    if noted := _try(request, lambda: actions.catch_up(minutes=told["lines"], by=by)):
        operations = "operation" if noted == 1 else "operations"
        messages.success(request, f"Minutes of {noted} {operations} written down.")
    if told["own"]:
        make = _named(Make.objects.all(), told["make"])
        own = {"line": None, "purpose": BenchTime.Purpose.OWN, "minutes": told["own"]}
        if _try(request, lambda: actions.log_time(**own, make=make, by=by, until=told["at"])):
            long = show_minutes(told["own"])
            messages.success(request, f"{long} of {make or 'own sewing'} written down.")
    return go_back(request, "today")


@require_GET
def make_clock(request: StudioRequest, pk: int) -> HttpResponse:
    """Minutes of a make and its clock: a part of the make's page, or a page by itself."""
    make = get_object_or_404(Make, pk=pk)
    page = "planning/_make_clock.html" if request.htmx else "planning/make_clock.html"
    shown = {
        "make": make,
        "time": make_time(make, request.user),
        "guesses": GUESSES,
        "now": clock.now(),
    }
    return render(request, page, shown)


def _named(rows: QuerySet[Row], pk: int | None) -> Row | None:
    """The row with this key, None where none is named. Raises Http404."""
    return get_object_or_404(rows, pk=pk) if pk else None


def _what(time: BenchTime) -> str:
    if time.line is None:
        named = time.make or (time.stage and f"{time.stage.release}, {time.stage}")
        return str(named or time.get_purpose_display())
    return f"{time.line.garment.ticket.number} {time.line.garment.letter} {time.line.name}"


def _try(request: StudioRequest, act: Callable):
    """What the act gives; None with a message when it could not be done."""
    try:
        return act()
    except (actions.PlanError, MakeError, TicketError) as wrong:
        messages.error(request, str(wrong))
    return None
