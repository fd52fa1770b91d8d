"""Pick-up: find the ticket, then tick, pay and hand over on one page."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.html import format_html
from django.views.decorators.http import require_GET, require_http_methods

from jobs.billing.actions import BillingError
from jobs.billing.queries import balance, paid, ready_tickets
from jobs.billing.views import booked_message
from jobs.counter.finding import find
from jobs.counter.pick_up import PickUpError, hand_over, pay_only
from jobs.counter.pick_up_form import PickUpForm
from jobs.tickets.actions import TicketError
from jobs.tickets.models import Ticket
from jobs.tickets.queries import ticket_or_404
from studio.shop.http import StudioRequest

WRONG = (PickUpError, TicketError, BillingError)


@require_GET
def pick_up(request: StudioRequest) -> HttpResponse:
    """One box, and what is ready by the client's name. One answer goes straight to its page."""
    typed = request.GET.get("q", "").strip()
    found = find(typed)
    if only := found.only:
        return redirect("ticket-pick-up" if only.is_open else "ticket", only.number)
    theirs = [ticket for client in found.clients for ticket in client.tickets.all()]
    tickets = {ticket.pk: ticket for ticket in [*found.tickets, *theirs]}
    return render(
        request,
        "counter/pick_up.html",
        {"typed": typed, "found": tickets.values(), "ready": ready_tickets()},
    )


@require_http_methods(["GET", "POST"])
def ticket_pick_up(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    if not ticket.is_open:
        messages.info(request, f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
        return redirect(ticket)
    still_open = balance(ticket)
    form = PickUpForm(
        request.POST or None,
        studio=request.studio,
        ticket=ticket,
        balance=still_open if request.user.is_owner else None,
    )
    if form.is_valid() and _done(request, ticket, form):
        return redirect(ticket)
    others = ready_tickets().filter(client=ticket.client_id).exclude(pk=ticket.pk)
    return render(
        request,
        "counter/pick_up_ticket.html",
        {
            "ticket": ticket,
            "form": form,
            "balance": still_open,
            "paid": paid(ticket),
            "others": others,
        },
    )


def _done(request: StudioRequest, ticket: Ticket, form: PickUpForm) -> bool:
    """Whether it went through; if not, the form says what is wrong."""
    act = pay_only if request.POST.get("intent") == "pay" else hand_over
    try:
        payment = act(ticket=ticket, said=form.said(), studio=request.studio, by=request.user)
    except WRONG as wrong:
        field = getattr(wrong, "field", "amount" if isinstance(wrong, BillingError) else None)
        form.add_error(field if field in form.fields else None, str(wrong))
        return False
    words = "" if act is pay_only else "Handed over."
    if payment:
        words = format_html("{} {}", words, booked_message(payment))
    elif request.POST.get("amount"):
        words += " It was paid before: no second payment was booked."
    messages.success(request, words)
    return True
