"""The pages where the rooms meet: the first, find, client, ticket and pick-up."""

from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.html import format_html
from django.views.decorators.http import require_GET, require_http_methods

from clients.fit.changes import is_old
from clients.queries import live_client
from clients.sheets.queries import last_day
from jobs.billing.actions import BillingError
from jobs.billing.queries import balance, paid, ready_tickets, with_balances
from jobs.billing.views import booked_message
from jobs.counter.find import search
from jobs.counter.pick_up import PickUpError, PickUpForm, hand_over, pay_only
from jobs.planning.clock import GUESSES
from jobs.planning.queries import read_week
from jobs.planning.today import day_sheet
from jobs.tickets.actions import TicketError
from jobs.tickets.models import Ticket
from jobs.tickets.queries import pieces_here, ticket_list, ticket_or_404
from studio.shop import clock
from studio.shop.http import StudioRequest


@require_GET
def today(request: StudioRequest) -> HttpResponse:
    week = read_week(request.studio, until=clock.today())
    context = {"sheet": day_sheet(week, request.user), "guesses": GUESSES, "idle": week.book.idle}
    return render(request, "counter/today.html", context)


@require_GET
def find(request: StudioRequest) -> HttpResponse:
    """Straight to the ticket when only one can be meant; while typing, only the list."""
    result = search(request.GET.get("q", "")[:200])
    if request.htmx:
        return render(request, "counter/_found.html", {"result": result})
    if only := result.only:
        return redirect(only)
    # With results there, the cursor waits on the first of them for another Enter.
    return render(request, "counter/find.html", {"result": result, "land": bool(result.typed)})


@require_GET
def more(request: StudioRequest) -> HttpResponse:
    """The doors that have no place on a phone's shelf."""
    return render(request, "counter/more.html")


@require_GET
def client(request: StudioRequest, pk: int) -> HttpResponse:
    shown = live_client(pk)
    if shown.pk != pk:
        return redirect("client", shown.pk)
    tickets: QuerySet[Any] = ticket_list().filter(client=shown)
    owed = None
    if request.user.is_owner:
        tickets = with_balances(tickets)
        owed = sum(ticket.balance for ticket in tickets)
    measured = last_day(shown)
    context = {
        "client": shown,
        "tickets": tickets,
        "here": pieces_here(shown),
        "owed": owed,
        "measured": measured,
        "measured_long_ago": measured is not None and is_old(measured, clock.today()),
    }
    return render(request, "counter/client.html", context)


@require_GET
def pick_up(request: StudioRequest) -> HttpResponse:
    """One box, and what is ready by the client's name. One answer goes straight to its page."""
    typed = request.GET.get("q", "").strip()
    result = search(typed)
    if only := result.only:
        return redirect("ticket-pick-up" if only.is_open else "ticket", only.number)
    theirs = [ticket for client in result.clients for ticket in client.tickets.all()]
    tickets = {ticket.pk: ticket for ticket in [*result.tickets, *theirs]}
    return render(
        request,
        "counter/pick_up.html",
        {"typed": typed, "tickets": tickets.values(), "ready": ready_tickets()},
    )


@require_http_methods(["GET", "POST"])
def ticket_pick_up(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    if not ticket.is_open:
        messages.info(request, f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
        return redirect(ticket)
    open_amount = balance(ticket)
    form = PickUpForm(
        request.POST or None,
        studio=request.studio,
        ticket=ticket,
        balance=open_amount if request.user.is_owner else None,
    )
    if form.is_valid() and _handed_over(request, ticket, form):
        return redirect(ticket)
    others = ready_tickets().filter(client=ticket.client_id).exclude(pk=ticket.pk)
    return render(
        request,
        "counter/pick_up_ticket.html",
        {
            "ticket": ticket,
            "form": form,
            "balance": open_amount,
            "paid": paid(ticket),
            "others": others,
        },
    )


def _handed_over(request: StudioRequest, ticket: Ticket, form: PickUpForm) -> bool:
    """Whether it went through; if not, the form says what is wrong."""
    act = pay_only if request.POST.get("intent") == "pay" else hand_over
    try:
        payment = act(ticket=ticket, answers=form.answers, studio=request.studio, by=request.user)
    except (PickUpError, TicketError, BillingError) as wrong:
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
