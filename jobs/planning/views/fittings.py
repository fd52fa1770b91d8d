"""A fitting is booked, or moved, while the client stands there."""

from collections.abc import Callable

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from jobs.planning import actions
from jobs.planning.fitting_forms import FittingForm, WhenForm
from jobs.planning.models import Fitting
from jobs.planning.offers import Offer, offer_times
from jobs.planning.queries import fitting_words
from jobs.tickets.models import Ticket
from jobs.tickets.queries import ticket_or_404
from studio.shop.http import StudioRequest, sent
from studio.shop.locales import show_minutes, show_when

FITTINGS = Fitting.objects.select_related("ticket__client")


@require_http_methods(["GET", "POST"])
def book(request: StudioRequest, number: str) -> HttpResponse:
    """A new fitting. ``?minutes=`` offers times of that length."""
    ticket = ticket_or_404(number)
    if not ticket.is_open:
        messages.info(request, f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
        return redirect(ticket)
    form = FittingForm(sent(request), initial=_usual(ticket, request.GET.get("minutes")))
    offer = offer_times(ticket, request.studio, _minutes(form))
    if form.is_valid():
        said = form.cleaned_data
        told = {"minutes": said["minutes"], "kind": said["kind"]}
        made = _try(
            form,
            lambda: actions.book_fitting(
                ticket=ticket,
                starts_at=said["starts_at"],
                studio=request.studio,
                by=request.user,
                **told,
            ),
        )
        if made:
            return _booked(request, made, offer)
    return _page(request, ticket, form, offer)


@require_http_methods(["GET", "POST"])
def move(request: StudioRequest, pk: int) -> HttpResponse:
    """Another time for a fitting that is booked or was missed."""
    fitting = get_object_or_404(FITTINGS, pk=pk)
    ticket = fitting.ticket
    form = WhenForm(sent(request))
    offer = offer_times(ticket, request.studio, fitting.minutes, fitting)
    if form.is_valid():
        moment = form.cleaned_data["starts_at"]
        made = _try(
            form,
            lambda: actions.move_fitting(
                fitting=fitting, starts_at=moment, studio=request.studio, by=request.user
            ),
        )
        if made:
            return _booked(request, made, offer)
    return _page(request, ticket, form, offer, fitting)


def _usual(ticket: Ticket, minutes: str | None) -> dict[str, str | int]:
    """The next kind in turn, as long as the fitting before it."""
    last = ticket.fittings.exclude(state=Fitting.State.CANCELLED).last()
    usual: dict[str, str | int] = {
        "kind": Fitting.Kind.NEXT if last else Fitting.Kind.FIRST,
        "minutes": last.minutes if last else 30,
    }
    if minutes and minutes.isdecimal():
        usual["minutes"] = int(minutes)
    return usual


def _minutes(form: FittingForm) -> int:
    """The length to offer times for: what was typed if it is one."""
    typed = form["minutes"].value()
    try:
        return form.fields["minutes"].clean(typed)
    except ValidationError:
        return 30


def _try(form: WhenForm, act: Callable[[], Fitting]) -> Fitting | None:
    try:
        return act()
    except actions.PlanError as wrong:
        form.refuse(str(wrong), wrong.field)
        return None


def _booked(request: StudioRequest, fitting: Fitting, offer: Offer) -> HttpResponse:
    messages.success(request, f"Booked: {fitting_words(fitting, request.studio)}.")
    if offer.too_soon(fitting.starts_at):
        first = show_when(offer.times[0], request.studio.locale)
        messages.warning(
            request,
            f"The work before it, {show_minutes(offer.minutes)}, can be done by {first} "
            "at the earliest.",
        )
    return redirect(fitting.ticket)


def _page(
    request: StudioRequest,
    ticket: Ticket,
    form: WhenForm,
    offer: Offer,
    fitting: Fitting | None = None,
) -> HttpResponse:
    form.offer(offer.times, request.studio.locale)
    return render(
        request,
        "planning/fitting.html",
        {"ticket": ticket, "form": form, "offer": offer, "fitting": fitting},
    )
