"""What becomes of a fitting, and which work stands after it."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from jobs.planning import actions
from jobs.planning.models import Fitting
from jobs.tickets.queries import ticket_or_404
from studio.shop.http import StudioRequest, go_back


@require_POST
def kept(request: StudioRequest, pk: int) -> HttpResponse:
    return _step(request, pk, actions.keep_fitting)


@require_POST
def missed(request: StudioRequest, pk: int) -> HttpResponse:
    return _step(request, pk, actions.miss_fitting)


@require_POST
def cancel(request: StudioRequest, pk: int) -> HttpResponse:
    return _step(request, pk, actions.cancel_fitting)


@require_POST
def work_after(request: StudioRequest, number: str) -> HttpResponse:
    """Each line says after which fitting it is worked on; ``line-<pk>`` is a fitting or empty."""
    ticket = ticket_or_404(number)
    fittings = {str(one.pk): one for one in ticket.fittings.all()}
    for garment in ticket.garments.all():
        for line in garment.lines.all():
            chosen = request.POST.get(f"line-{line.pk}")
            if chosen is not None and (chosen == "" or chosen in fittings):
                actions.work_after(line=line, fitting=fittings.get(chosen), by=request.user)
    return redirect(ticket)


def _step(request: StudioRequest, pk: int, act: Callable[..., Fitting]) -> HttpResponse:
    fitting = get_object_or_404(Fitting.objects.select_related("ticket"), pk=pk)
    try:
        act(fitting=fitting, by=request.user)
    except actions.PlanError as wrong:
        messages.error(request, str(wrong))
    return go_back(request, fitting.ticket)
