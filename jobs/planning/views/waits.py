"""Work that waits: put on hold, taken up again, and the list of all open questions."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.planning import actions
from jobs.planning.asking import asked_of, asked_to_come
from jobs.planning.models import Wait
from jobs.planning.queries import missed_fittings, open_waits
from jobs.planning.small_forms import WaitForm
from jobs.tickets.models import Line
from studio.shop.http import StudioRequest, go_back, sent
from studio.shop.locales import show_day


@require_GET
def waiting(request: StudioRequest) -> HttpResponse:
    studio = request.studio
    return render(
        request,
        "planning/waiting.html",
        {
            "waits": [asked_of(wait, studio) for wait in open_waits()],
            "missed": [asked_to_come(fitting, studio) for fitting in missed_fittings()],
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
    found = Wait.objects.select_related("line__garment__ticket")
    wait = get_object_or_404(found, pk=pk)
    before = wait.line.garment.ticket.promise_at
    ticket = actions.end_wait(wait=wait, studio=request.studio, by=request.user)
    day = show_day(ticket.promise_at, request.studio.locale, year=False)
    stands = "stays on" if ticket.promise_at == before else "moved to"
    messages.success(request, f"{ticket.number} goes on. Its promise {stands} {day}.")
    return go_back(request, ticket)
