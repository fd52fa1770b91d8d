"""The drop-off page, the same page for changing a ticket, and the slip after Save."""

from contextlib import suppress
from urllib.parse import urlencode
from uuid import uuid5

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.dateparse import parse_date
from django.utils.html import format_html
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRedirect

from clients.actions import AlikeError
from clients.fields import unit_of
from clients.fit.lengths import Length, LengthError, Unit, parse_length
from clients.models import Client
from clients.sheets.known import Body, body_of
from jobs.billing.actions import BillingError, record_payment
from jobs.billing.forms import PaymentForm
from jobs.billing.models import Payment
from jobs.billing.queries import paid, usual_kind
from jobs.counter.dropoff.desk import (
    DAY_CHOSEN,
    MOST_LINES,
    StandingTicket,
    day_given,
    keys,
    write,
)
from jobs.counter.dropoff.forms import line_of
from jobs.counter.dropoff.merge import adopt, open_change, what_differs
from jobs.counter.dropoff.page import BRING, DropOff, SavedBefore
from jobs.counter.dropoff.save import AsksOwnerError, ChangedSinceError, SavedAlreadyError, save
from jobs.counter.dropoff.who import matches_of
from jobs.counter.papers import unsaid_on
from jobs.planning.models import STANDS
from jobs.pricing.models import Operation
from jobs.pricing.quote import QuoteError
from jobs.tickets import actions
from jobs.tickets.actions import TicketError, answer_change, ask_change
from jobs.tickets.actions.agree import agree_to_amount, draft_of
from jobs.tickets.documents.papers import presses
from jobs.tickets.fit.cloth_ends import hem_fields, known_end
from jobs.tickets.fit.line_hem import line_hem, place_of_hem
from jobs.tickets.messages import about_promise, client_link
from jobs.tickets.models import AgreementSheet, AskedChange, Garment, Ticket
from jobs.tickets.queries import open_numbers, ticket_or_404
from jobs.tickets.quoting import AmbiguousAmountError
from jobs.tickets.views import ASKED, say_step
from studio.shop import clock
from studio.shop.http import StudioRequest, go_back, owner_only, sent
from studio.shop.locales import show_day
from studio.shop.may import Tick
from studio.shop.once import rows_of

REFRESH = "reprice"
TRIES = 3
"""How often a change is merged with what others save at the same moments."""


@require_http_methods(["GET", "POST"])
def drop_off(request: StudioRequest) -> HttpResponse:
    if request.method == "POST":
        return _turn(request, None, request.POST.copy())
    data = QueryDict(mutable=True)
    return _show(request, DropOff(request, data, _first_intent(request, data), None))


@require_http_methods(["GET", "POST"])
def ticket_change(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    if not ticket.is_open:
        state = ticket.get_state_display().lower()
        messages.warning(request, f"Ticket {ticket.number} is {state} and cannot be changed.")
        return redirect(ticket)
    standing = _standing(ticket)
    if request.method == "POST":
        data = request.POST.copy()
        if "opened" not in data and data.get("form_key") == str(ticket.form_key):
            rows = rows_of(ticket.form_key)
            adopt(data, standing, request.studio, rows, money=request.user.is_owner)
        return _turn(request, standing, data)
    data = QueryDict(mutable=True)
    open_change(data, standing, request.studio, money=request.user.is_owner)
    return _show(request, DropOff(request, data, REFRESH, standing))


@require_GET
def drop_off_clients(request: StudioRequest) -> HttpResponse:
    """The clients that match what is being typed, as buttons of the form."""
    typed = request.GET.get("q", "")[:200]
    context = {"typed": typed, "matches": matches_of(typed)}
    return render(request, "counter/drop_off/_matches.html", context)


@require_GET
def drop_off_hem(request: StudioRequest) -> HttpResponse:
    """The picture of one line's hem, while its numbers are being typed. At most four queries."""
    asked, row, unit = request.GET, request.GET.get("row", ""), unit_of(request.studio)
    works = Operation.objects.select_related("garment_kind")
    work = works.filter(pk__in=keys([asked.get(f"{row}-operation", "")])).first()
    client = Client.objects.filter(pk__in=keys([asked.get("client", "")])).first()
    garment = Garment.objects.filter(pk__in=keys([asked.get("garment", "")])).first()
    hem = None
    if work:
        line = line_of(work)
        read = {
            name: _length(asked.get(f"{row}-{name}", ""), unit, zero=name == "turned_up")
            for name in ("amount", *hem_fields(line.name, unit))
        }
        amount = read.pop("amount")
        line.amount_mm = amount.mm if amount else None
        line.measure = asked.get(f"{row}-measure", "")
        kind = work.garment_kind.name
        known = known_end(
            garment.cloth_ends if garment else {}, place_of_hem(kind, line), unit, read
        )
        hem = line_hem(
            kind, line, known, body_of(client, by=request.user) if client else Body(), unit
        )
    return render(request, "counter/drop_off/_hem.html", {"line": {"hem": hem}})


def _length(typed: str, unit: Unit, *, zero: bool) -> Length | None:
    """What was typed so far; None where that is no length yet."""
    with suppress(LengthError):
        return parse_length(typed, unit, zero=zero)
    return None


def _turn(request: StudioRequest, standing: StandingTicket | None, data: QueryDict) -> HttpResponse:
    """What a button, or a field that changed, makes of the page. Save leads to the ticket."""
    intent = request.POST.get("intent", REFRESH)
    page = DropOff(request, data, intent, standing)
    for tries_left in range(TRIES, 0, -1):
        if not page.saving or page.problems():
            break
        try:
            ticket = save(page, request.user)
        except ChangedSinceError as wrong:
            if page.standing and tries_left > 1:
                now, merged = _standing(ticket_or_404(page.standing.ticket.number)), page.merged
                page = DropOff(request, page.data, "save", now)
                page.merged = page.merged.after(merged)
            else:
                page.trouble = str(wrong)
        except SavedAlreadyError as wrong:
            return _show(request, _saved_before(request, page, wrong.ticket))
        except AlikeError as wrong:
            page.who.add_error("new_name", f"{wrong} Choose them above, or save again.")
        except AsksOwnerError as asks:
            return _asked(request, page, asks)
        except (TicketError, QuoteError, BillingError) as wrong:
            page.trouble, page.trouble_link = str(wrong), getattr(wrong, "link", "")
        else:
            return _saved(request, ticket, page)
    return _show(request, page)


def _asked(request: StudioRequest, page: DropOff, asks: AsksOwnerError) -> HttpResponse:
    """Nothing is changed yet: the ticket says what is asked, and that it waits for the owner."""
    ticket = ticket_or_404(page.standing.ticket.number if page.standing else "")
    try:
        ask_change(
            ticket=ticket, delta=asks.delta, form=page.data.urlencode(), by=request.user,
            reason=page.ticket.answers.get("reason", ""),
        )  # fmt: skip
    except TicketError as wrong:
        page.trouble = str(wrong)
        return _show(request, page)
    say_step(request, ticket, ASKED)
    address = ticket.get_absolute_url()
    return HttpResponseClientRedirect(address) if request.htmx else redirect(address)


@owner_only
@require_POST
def ticket_answer(request: StudioRequest, number: str) -> HttpResponse:
    """Yes or no to what a helper asked; yes carries it out as if she had been let."""
    ticket = ticket_or_404(number)
    key = request.POST.get("asked", "")
    waiting = AskedChange.objects.select_related("by", "ticket").filter(ticket=ticket)
    asked = get_object_or_404(waiting, pk=key if key.isdecimal() and len(key) < 19 else 0)
    accepted = request.POST.get("answer") == "yes"
    try:
        with transaction.atomic():
            answer_change(asked=asked, accepted=accepted, by=request.user)
            if accepted:
                _carry_out(request, ticket, asked)
    except (TicketError, QuoteError, BillingError, AmbiguousAmountError) as wrong:
        messages.error(request, str(wrong))
    else:
        told = "Agreed as asked" if accepted else "It stays as agreed"
        messages.success(request, f"{told}: {asked.by.shown_name} sees it on the ticket.")
    return redirect(ticket)


def _carry_out(request: StudioRequest, ticket: Ticket, asked: AskedChange) -> None:
    """Raises TicketError where the ticket has changed so that it does not go together any more."""
    if asked.promise_at:
        actions.move_promise(
            ticket=ticket, promise_at=asked.promise_at, studio=request.studio, by=request.user,
            reason=asked.reason,
        )  # fmt: skip
        return
    if asked.pin:
        agree_to_amount(asked=asked, studio=request.studio, by=request.user)
        return
    data = QueryDict(asked.form, mutable=True)
    page = DropOff(request, data, "save", _standing(ticket), by=asked.by)
    if wrong := page.problems():
        raise TicketError(f"It does not fit any more: {wrong[0].message}")
    save(page, request.user)


def _saved_before(request: StudioRequest, page: DropOff, ticket: Ticket) -> DropOff:
    """The form again, with all that was typed, and what of it the ticket does not say."""
    if not page.data.get("chosen"):
        # The day that was only proposed is the one that was agreed.
        promise = clock.local(ticket.promise_at).date()
        write(page.data, promise_day=promise, chosen=DAY_CHOSEN)
        page = DropOff(request, page.data, "save", None)
    owner, who = request.user.is_owner, page.who
    differs = what_differs(
        page.data, _standing(ticket), request.studio, rows_of(ticket.form_key), money=owner
    )
    name = who.chosen.name if who.chosen else who.facts["name"]
    deposit = Payment.objects.filter(form_key=uuid5(ticket.form_key, "deposit")).first()
    paid = page.ticket.answers.get("paid") or 0
    other_client = name != ticket.client.name
    other_payment = owner and paid != (deposit.amount if deposit else 0)
    differs += ["Client"] * other_client + ["Paid now"] * other_payment
    page.saved = SavedBefore(ticket, differs, elsewhere=other_client or other_payment)
    return page


def _standing(ticket: Ticket) -> StandingTicket:
    letters = {garment.pk: garment.letter for garment in ticket.garments.all()}
    return StandingTicket(ticket, draft_of(ticket), letters)


def _first_intent(request: StudioRequest, data: QueryDict) -> str:
    """A fresh form, with what the link to it already knows: a client, or the words for a new one.

    It may also name the day, operations of the price list, and that it is a rush.
    """
    write(data, promise_time=f"{request.studio.promise_time:%H:%M}")
    if day := day_given(request.GET.get("day", "")):
        write(data, promise_day=day, chosen=DAY_CHOSEN)
    if number := request.GET.get("pad", "")[:12]:
        write(data, number=number, received_on=clock.today())
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


def _show(request: StudioRequest, page: DropOff) -> HttpResponse:
    """The whole page, the form after a button, or only what a changed field changes."""
    context = page.context(shows_errors=page.saving)
    if not request.htmx:
        return render(request, "counter/drop_off.html", context)
    part = "_form" if "intent" in request.POST else "_live"
    return render(request, f"counter/drop_off/{part}.html", context)


def _saved(request: StudioRequest, ticket: Ticket, page: DropOff) -> HttpResponse:
    day = page.answer.fitting(page.cost) if page.answer else None
    if not page.standing:
        address = reverse("ticket-saved", args=[ticket.number])
        facts = {"fitting": day.isoformat()} if day else {}
        facts |= {"pad": ticket.number} if page.draft.number else {}
        address += f"?{urlencode(facts)}" if facts else ""
    else:
        address = go_back(request, ticket).url
        messages.success(request, f"Ticket {ticket.number} says what is agreed now.")
        if page.merged.news:
            messages.info(request, f"{page.merged.sentence} Both are saved.")
        if page.answer and page.answer.needs_fitting:
            by = f" by {show_day(day, request.studio.locale)}" if day else ""
            book = reverse("fitting-book", args=[ticket.number])
            link = '<a href="{}">Book the fitting{}</a>'
            messages.info(request, format_html(f"A fitting comes first. {link}", book, by))
    return HttpResponseClientRedirect(address) if request.htmx else redirect(address)


@require_http_methods(["GET", "POST"])
def ticket_saved(request: StudioRequest, number: str) -> HttpResponse:
    """Promise and price large, then the next things; what is done is said as a fact.

    A deposit is taken here too. ``fitting`` of the address is the day by which the fitting is due.
    """
    ticket, owner = ticket_or_404(number), request.user.is_owner
    prices = request.user.may(Tick.PRICES)
    amount = paid(ticket) if prices else 0
    usual = {"method": Payment.Method.CASH, "amount": max(ticket.deposit - amount, 0) or None}
    form = PaymentForm(sent(request), studio=request.studio, initial=usual) if owner else None
    if form and form.is_valid() and _taken(request, ticket, form):
        return redirect(request.get_full_path())
    fittings = [row for row in ticket.fittings.order_by("starts_at") if row.state in STANDS]
    lines = [line for garment in ticket.garments.all() for line in garment.lines.all()]
    link = client_link(ticket, request.studio)
    message = about_promise(ticket, request.studio, figures=prices, link=link)
    sheets = AgreementSheet.objects.filter(
        agreement__ticket=ticket, agreement__version=ticket.version, paper__isnull=False
    )
    issued = dict(sheets.values_list("paper__name", "paper__stored_at"))
    runs = presses(request.studio, len(ticket.garments.all()))
    context = {
        "next_on_pad": open_numbers()[:1] if request.GET.get("pad") else [],
        "ticket": ticket,
        "form": form,
        "paid": amount,
        "to_pay": ticket.gross - amount,
        "fitting": fittings[0] if fittings else None,
        "wants_fitting": any(line.fitting_first for line in lines),
        "fitting_by": parse_date(day_given(request.GET.get("fitting", ""))),
        "unmeasured": [line for line in lines if line.to_measure],
        "presses": [
            (run, issued.get(f"{run.words} {ticket.number} version {ticket.version}"))
            for run in runs
        ],
        "printed": bool(issued),
        "unsaid": unsaid_on(ticket, ticket.garments.all(), request.studio),
        "message": message,
        "way": next((way for way in message.links if not way.href.startswith("tel:")), None),
    }
    return render(request, "counter/saved.html", context)


def _taken(request: StudioRequest, ticket: Ticket, form: PaymentForm) -> bool:
    """Whether the payment was booked; if not, the form says what is wrong."""
    facts = form.cleaned_data
    kind = usual_kind(ticket, facts["amount"])
    try:
        record_payment(ticket=ticket, by=request.user, studio=request.studio, kind=kind, **facts)
    except BillingError as wrong:
        form.add_error("amount", str(wrong))
        return False
    return True
