"""The drop-off page, and the same page for changing a ticket."""

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.views.decorators.http import require_GET, require_http_methods
from django_htmx.http import HttpResponseClientRedirect

from clients.actions import AlikeError
from clients.queries import find_clients
from jobs.billing.actions import BillingError
from jobs.counter.dropoff.desk import StandingTicket
from jobs.counter.dropoff.forms import MOST_LINES
from jobs.counter.dropoff.page import BRING, DAY_CHOSEN, DropOff, day_given, of_ticket, write
from jobs.counter.dropoff.save import save
from jobs.pricing.quote import QuoteError
from jobs.tickets.actions import TicketError
from jobs.tickets.actions.agree import draft_of
from jobs.tickets.models import Ticket
from jobs.tickets.queries import ticket_or_404
from studio.shop.http import StudioRequest
from studio.shop.locales import show_day

REFRESH = "reprice"


@require_http_methods(["GET", "POST"])
def drop_off(request: StudioRequest) -> HttpResponse:
    if request.method == "POST":
        return _turn(request, None)
    data = QueryDict(mutable=True)
    return _show(request, DropOff(request, data, _first_intent(request, data), None))


@require_http_methods(["GET", "POST"])
def ticket_change(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    if not ticket.is_open:
        state = ticket.get_state_display().lower()
        messages.warning(request, f"Ticket {ticket.number} is {state} and cannot be changed.")
        return redirect(ticket)
    letters = {garment.pk: garment.letter for garment in ticket.garments.all()}
    standing = StandingTicket(ticket, draft_of(ticket), letters)
    if request.method == "POST":
        return _turn(request, standing)
    data = QueryDict(mutable=True)
    of_ticket(data, standing, request.studio)
    return _show(request, DropOff(request, data, REFRESH, standing))


@require_GET
def drop_off_clients(request: StudioRequest) -> HttpResponse:
    """The clients that match what is being typed, as buttons of the form."""
    typed = request.GET.get("q", "")[:200]
    context = {"typed": typed, "matches": find_clients(typed)}
    return render(request, "counter/drop_off/_matches.html", context)


def _turn(request: StudioRequest, standing: StandingTicket | None) -> HttpResponse:
    """What a button, or a field that changed, makes of the page. Save leads to the ticket."""
    intent = request.POST.get("intent", REFRESH)
    page = DropOff(request, request.POST.copy(), intent, standing)
    if intent == "save" and not page.problems():
        try:
            ticket = save(page, request.user)
        except AlikeError as wrong:
            page.who.add_error("new_name", f"{wrong} Choose them above, or save again.")
        except (TicketError, QuoteError, BillingError) as wrong:
            page.trouble, page.trouble_link = str(wrong), getattr(wrong, "link", "")
        else:
            return _saved(request, ticket, page)
    return _show(request, page, intent)


def _first_intent(request: StudioRequest, data: QueryDict) -> str:
    """A fresh form, with what the link to it already knows: a client, or the words for a new one.

    It may also name the day, operations of the price list, and that it is a rush.
    """
    write(data, promise_time=f"{request.studio.promise_time:%H:%M}")
    if day := day_given(request.GET.get("day", "")):
        write(data, promise_day=day, chosen=DAY_CHOSEN)
    if request.GET.get("rush") == "yes":
        write(data, rush="on")
    if works := request.GET.getlist("work")[:MOST_LINES]:
        return f"{BRING}:{':'.join(works)}"
    if client := request.GET.get("client"):
        return f"client:{client}"
    if new := request.GET.get("new", "")[:200]:
        write(data, q=new)
        return "new-client"
    return "other-client"


def _show(request: StudioRequest, page: DropOff, intent: str = REFRESH) -> HttpResponse:
    """The whole page, the form after a button, or only what a changed field changes."""
    context = page.context(shows_errors=intent == "save")
    if not request.htmx:
        return render(request, "counter/drop_off.html", context)
    part = "_form" if "intent" in request.POST else "_live"
    return render(request, f"counter/drop_off/{part}.html", context)


def _saved(request: StudioRequest, ticket: Ticket, page: DropOff) -> HttpResponse:
    words = "says what is agreed now" if page.standing else "is saved"
    messages.success(request, f"Ticket {ticket.number} {words}.")
    if page.answer and page.answer.needs_fitting:
        day = page.answer.fitting(page.cost)
        by = f" by {show_day(day, request.studio.locale)}" if day else ""
        address = reverse("fitting-book", args=[ticket.number])
        link = '<a href="{}">Book the fitting{}</a>'
        messages.info(request, format_html(f"A fitting comes first. {link}", address, by))
    if request.htmx:
        return HttpResponseClientRedirect(ticket.get_absolute_url())
    return redirect(ticket)
