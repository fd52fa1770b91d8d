"""More promised than the bench holds: which days, by how much, and one press that mends it."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from jobs.planning.holding import look_ahead
from jobs.tickets import actions
from jobs.tickets.forms import PromiseForm
from jobs.tickets.queries import ticket_or_404
from studio.shop import clock
from studio.shop.http import StudioRequest
from studio.shop.locales import show_when

REASON = "the days before were too full"


@require_GET
def too_much(request: StudioRequest) -> HttpResponse:
    return render(request, "planning/too_much.html", {"holding": look_ahead(request.studio)})


@require_POST
def move(request: StudioRequest, number: str) -> HttpResponse:
    """Promise this ticket for the usual hour of the day that was offered."""
    ticket = ticket_or_404(number)
    hour = request.studio.promise_time
    form = PromiseForm({"day": request.POST.get("day"), "time": hour, "reason": REASON})
    if not form.is_valid():
        messages.error(request, "Choose one of the days on offer.")
        return redirect("too-much")
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
        return redirect("too-much")
    when = show_when(ticket.promise_at, request.studio.locale)
    messages.success(
        request, f"Ticket {ticket.number} is promised for {when} now. Print the new agreement here."
    )
    return redirect(ticket)
