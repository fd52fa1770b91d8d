"""The bench clock: one tap to start, one to stop, or an honest guess afterwards."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from jobs.planning import actions
from jobs.planning.models import BenchTime
from jobs.planning.time_forms import CatchUpForm, StartForm, StopForm
from jobs.tickets.actions import TicketError
from jobs.tickets.models import Line
from studio.shop.http import StudioRequest, go_back
from studio.shop.words import show_minutes

LINES = Line.objects.select_related("garment__ticket")


@require_POST
def start(request: StudioRequest) -> HttpResponse:
    """Work begins on an operation, or the owner's own sewing."""
    form = StartForm(request.POST)
    if form.is_valid():
        pk, purpose = form.cleaned_data["line"], form.cleaned_data["purpose"]
        line = get_object_or_404(LINES, pk=pk) if pk else None
        _try(request, lambda: actions.start_clock(line=line, purpose=purpose, by=request.user))
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
        own = {"line": None, "purpose": BenchTime.Purpose.OWN, "minutes": told["own"]}
        if _try(request, lambda: actions.log_time(**own, by=by, until=told["at"])):
            long = show_minutes(told["own"])
            messages.success(request, f"{long} of own sewing written down.")
    return go_back(request, "today")


def _what(time: BenchTime) -> str:
    if time.line is None:
        return time.get_purpose_display()
    return f"{time.line.garment.ticket.number} {time.line.garment.letter} {time.line.name}"


def _try(request: StudioRequest, act: Callable):
    """What the act gives; None with a message when it could not be done."""
    try:
        return act()
    except (actions.PlanError, TicketError) as wrong:
        messages.error(request, str(wrong))
    return None
