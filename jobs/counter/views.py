"""The pages where the rooms meet: find and pick-up."""

import re

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods
from django_htmx.http import HttpResponseClientRedirect

from jobs.billing.actions import BillingError
from jobs.billing.queries import paid_and_open, ready_tickets, ticket_money
from jobs.billing.views import booked_message
from jobs.counter import pick_up as collecting
from jobs.counter.find import FindResult, search
from jobs.counter.messages.drafts import count_to_say
from jobs.counter.ticket_list import nearest, picture, rows_of
from jobs.makes.wall.queries import find as find_own
from jobs.tickets.actions import TicketError
from jobs.tickets.facts import places_of
from jobs.tickets.models import Ticket
from jobs.tickets.queries import ticket_or_404
from studio.shop.http import StudioRequest
from studio.shop.may import Tick
from studio.shop.messages import mail
from studio.shop.models import Profile


@require_GET
def find(request: StudioRequest) -> HttpResponse:
    """Straight to the ticket when only one can be meant; while typing, once its number is whole."""
    result = search(request.GET.get("q", "")[:200])
    if (only := result.only) and not request.htmx:
        return redirect(only)
    if only and result.whole_number:
        return HttpResponseClientRedirect(only.get_absolute_url())
    # With results there, the cursor waits on the first of them for another Enter.
    land = bool(result.typed) and not request.htmx
    page = "counter/_found.html" if request.htmx else "counter/find.html"
    shown = found(result, request.studio) | {"land": land}
    if request.user.is_owner and OWN_WORDS.search(result.typed):
        shown["own"] = find_own(result.typed)
    return render(request, page, shown)


OWN_WORDS = re.compile(r"[^\W\d_]{3}")
"""Own sewing has no numbers: it is looked through for words alone."""


def found(result: FindResult, studio: Profile) -> dict[str, object]:
    """What was found as the page shows it: rows of tickets, and by client those of theirs that are
    open. Nothing found brings the nearest numbers."""
    theirs = {client.pk: [*client.tickets.all()] for client in result.clients}
    picture([*result.tickets, *(ticket for tickets in theirs.values() for ticket in tickets)])
    nothing = result.typed and not (result.tickets or result.clients)
    return {
        "result": result,
        "rows": rows_of(result.tickets, studio),
        "theirs": {client: rows_of(tickets, studio) for client, tickets in theirs.items()},
        "nearest": nearest(result.typed) if nothing else [],
    }


@require_GET
def pick_up(request: StudioRequest) -> HttpResponse:
    """One field, and the rail with what is ready. One answer goes straight to its page."""
    typed = request.GET.get("q", "").strip()
    result = search(typed)
    if only := result.only:
        return redirect("ticket-pick-up" if only.is_open else "ticket", only.number)
    theirs = [ticket for client in result.clients for ticket in client.tickets.all()]
    context = {
        "typed": typed,
        "tickets": {ticket.pk: ticket for ticket in [*result.tickets, *theirs]}.values(),
        "rail": collecting.rail(request.studio),
        "left_today": collecting.handed_over_today(),
        "long": collecting.LONG,
        "say": count_to_say(request.studio),
        "mail_is_on": mail.load().is_on,
    }
    return render(request, "counter/pick_up.html", context)


@require_http_methods(["GET", "POST"])
def ticket_pick_up(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    if not ticket.is_open:
        messages.info(request, f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
        return redirect(ticket)
    before, open_amount = paid_and_open(ticket)
    typed = request.POST.get("amount") or request.GET.get("amount", "")
    settling = collecting.settling(ticket, before, open_amount, typed, request.studio.locale)
    may_take = request.user.may(Tick.DRAWER)
    takes_money = may_take and open_amount > 0
    form = collecting.PickUpForm(
        request.POST or None,
        studio=request.studio,
        ticket=ticket,
        balance=open_amount if may_take else None,
        may_wait=request.user.is_owner,
        now=settling.now,
        method=collecting.paid_last(ticket) if takes_money else "",
    )
    if form.is_valid() and (answer := _handed_over(request, ticket, form)):
        return answer
    others = ready_tickets().filter(client=ticket.client_id).exclude(pk=ticket.pk)
    context = {
        "ticket": ticket,
        "form": form,
        "pieces": form.pieces(),
        "places": places_of(form.garments),
        "settling": settling,
        "bar": collecting.settling_bar(settling, ticket, request.studio) if takes_money else None,
        "others": others,
    }
    return render(request, "counter/pick_up_ticket.html", context)


def _handed_over(
    request: StudioRequest, ticket: Ticket, form: collecting.PickUpForm
) -> HttpResponse | None:
    """Where to go when it went through; if not, None, and the form says what is wrong."""
    act = collecting.pay_only if request.POST.get("intent") == "pay" else collecting.hand_over
    try:
        payment = act(ticket=ticket, answers=form.answers, studio=request.studio, by=request.user)
    except (collecting.PickUpError, TicketError, BillingError) as wrong:
        field = getattr(wrong, "field", "amount" if isinstance(wrong, BillingError) else None)
        form.add_error(field if field in form.fields else None, str(wrong))
        return None
    if form.answers.wrong:
        messages.info(request, "What is not right is back on the bench.")
    if request.POST.get("amount", "").strip(" 0.,") and not payment:
        messages.info(request, "It was paid before: no second payment was booked.")
    if act is collecting.pay_only and payment:
        messages.success(request, booked_message(payment, request.studio))
        return redirect(f"{ticket.get_absolute_url()}#money")
    return redirect("ticket-handed-over", ticket.number)


@require_GET
def handed_over(request: StudioRequest, number: str) -> HttpResponse:
    """The slip after handing over: what left, what was paid, and the way back."""
    ticket = ticket_or_404(number)
    left = collecting.latest_hand_over(ticket, request.user)
    if left is None:
        return redirect(ticket)
    context = {
        "ticket": ticket,
        "left": left,
        "money": ticket_money(ticket) if request.user.may(Tick.PRICES) else None,
        "links": collecting.thanks(ticket, left, request.studio),
        "here": [garment for garment in ticket.garments.all() if not garment.handed_over_at],
    }
    return render(request, "counter/handed_over.html", context)
