"""The drop-off page, and the same page for changing a ticket."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.views.decorators.http import require_GET, require_http_methods
from django_htmx.http import HttpResponseClientRedirect

from clients.actions import AlikeError
from clients.queries import find_clients
from jobs.billing.actions import BillingError
from jobs.counter.dropoff import dates, opening, saving
from jobs.counter.dropoff.dates import Dates
from jobs.counter.dropoff.page import BRING, Page, posted, turn
from jobs.counter.dropoff.reading import Standing
from jobs.counter.dropoff.slate import MOST_LINES, Slate
from jobs.counter.dropoff.who import Who
from jobs.pricing.quote import QuoteError
from jobs.tickets.actions import TicketError
from jobs.tickets.actions.receiving import draft_of
from jobs.tickets.models import Ticket
from jobs.tickets.queries import ticket_or_404
from studio.shop.http import StudioRequest
from studio.shop.locales import show_day
from studio.shop.week import load_week

READ_AGAIN = "reprice"


@require_http_methods(["GET", "POST"])
def drop_off(request: StudioRequest) -> HttpResponse:
    if request.method == "GET":
        slate = opening.blank(request.studio, load_week())
        return _show(request, turn(request, slate, _asked(request, slate), None), READ_AGAIN)
    intent = request.POST.get("intent", READ_AGAIN)
    page = turn(request, posted(request), intent, None)
    if intent == "save" and page.who and not page.problems():
        try:
            ticket = saving.save(
                page.reading, page.who, studio=request.studio, by=request.user, lost=page.dates.lost
            )
        except AlikeError as wrong:
            page.reading.who.add_error("new_name", f"{wrong} Choose them above, or save again.")
        except (TicketError, QuoteError, BillingError) as wrong:
            page.reading.trouble = str(wrong)
        else:
            return _done(request, ticket, f"Ticket {ticket.number} is saved.", page.dates)
    return _show(request, page, intent)


@require_http_methods(["GET", "POST"])
def ticket_change(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    if not ticket.is_open:
        state = ticket.get_state_display().lower()
        messages.warning(request, f"Ticket {ticket.number} is {state} and cannot be changed.")
        return redirect(ticket)
    letters = {garment.pk: garment.letter for garment in ticket.garments.all()}
    standing = Standing(ticket, draft_of(ticket), letters)
    if request.method == "GET":
        slate = opening.of_draft(standing.draft, request.studio)
        slate.typed.put(version=ticket.version)
        return _show(request, turn(request, slate, READ_AGAIN, standing), READ_AGAIN)
    intent = request.POST.get("intent", READ_AGAIN)
    page = turn(request, posted(request), intent, standing)
    if intent == "save" and not page.problems():
        try:
            ticket = saving.change(
                page.reading,
                standing,
                seen=page.slate.typed.text("version"),
                studio=request.studio,
                by=request.user,
                lost=page.dates.lost,
            )
        except saving.InvoicedError as wrong:
            page.reading.trouble = str(wrong)
            page.reading.trouble_link = reverse("invoice", args=[wrong.number])
        except saving.ChangedMeanwhileError as wrong:
            page.reading.trouble = str(wrong)
            page.slate.typed.put(version=ticket.version)
        except (TicketError, QuoteError) as wrong:
            page.reading.trouble = str(wrong)
        else:
            words = f"Ticket {ticket.number} says what is agreed now."
            return _done(request, ticket, words, page.dates)
    return _show(request, page, intent)


@require_GET
def drop_off_clients(request: StudioRequest) -> HttpResponse:
    """The clients that match what is being typed, as buttons of the form."""
    typed = request.GET.get("q", "")[:200]
    who = Who(typed=typed, matches=find_clients(typed))
    return render(request, "counter/drop_off/_matches.html", {"who": who})


def _asked(request: StudioRequest, slate: Slate) -> str:
    """What the link to the page already knows: a client, or the words for a new one.

    It may also name the day, operations of the price list, and that it is a rush.
    """
    if day := dates.given(request.GET.get("day", "")):
        slate.typed.put(promise_day=day, chosen=dates.CHOSEN)
    if request.GET.get("rush") == "yes":
        slate.typed.put(rush="on")
    if works := request.GET.getlist("work")[:MOST_LINES]:
        return f"{BRING}:{':'.join(works)}"
    if client := request.GET.get("client"):
        return f"client:{client}"
    if new := request.GET.get("new", "")[:200]:
        slate.typed.put(q=new)
        return "new-client"
    return READ_AGAIN


def _show(request: StudioRequest, page: Page, intent: str) -> HttpResponse:
    """The whole page, the form after a button, or only what a changed field changes."""
    live = bool(request.htmx) and "intent" not in request.POST
    context = page.context(request.studio, shows_errors=intent == "save")
    if live:
        return render(request, "counter/drop_off/_live.html", context)
    template = "counter/drop_off/_form.html" if request.htmx else "counter/drop_off.html"
    return render(request, template, context)


def _done(request: StudioRequest, ticket: Ticket, words: str, shown: Dates) -> HttpResponse:
    messages.success(request, words)
    if shown.needs_fitting:
        by = f" by {show_day(shown.fitting, request.studio.locale)}" if shown.fitting else ""
        address = reverse("fitting-book", args=[ticket.number])
        link = '<a href="{}">Book the fitting{}</a>'
        messages.info(request, format_html(f"A fitting comes first. {link}", address, by))
    if request.htmx:
        return HttpResponseClientRedirect(ticket.get_absolute_url())
    return redirect(ticket)
