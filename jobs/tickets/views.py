"""Steps of a ticket, its photographs, and the list of all."""

from collections.abc import Callable

from django.contrib import messages
from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from jobs.tickets import actions, photos
from jobs.tickets.filters import TicketFilter
from jobs.tickets.forms import CareForm, GarmentPhotoForm, PromiseForm, WhyForm, WornForm
from jobs.tickets.models import Garment, Line, Photo, Ticket
from jobs.tickets.queries import ticket_list, ticket_or_404
from jobs.tickets.tables import TicketTable
from studio.shop import clock
from studio.shop.history import of
from studio.shop.http import StudioRequest
from studio.shop.locales import show_day
from studio.shop.tables import show_page
from studio.shop.week import load_week


@require_GET
def tickets(request: StudioRequest) -> HttpResponse:
    chosen = TicketFilter(request.GET, queryset=ticket_list())
    table = TicketTable(chosen.qs, studio=request.studio)
    show_page(table, request)
    return render(request, "tickets/tickets.html", {"filter": chosen, "table": table})


@require_POST
def start(request: StudioRequest, number: str) -> HttpResponse:
    return _step(request, number, lambda ticket: actions.start(ticket=ticket, by=request.user))


@require_POST
def tick_all(request: StudioRequest, number: str) -> HttpResponse:
    return _step(request, number, lambda ticket: actions.tick_all(ticket=ticket, by=request.user))


@require_POST
def ready(request: StudioRequest, number: str) -> HttpResponse:
    return _step(request, number, lambda ticket: actions.mark_ready(ticket=ticket, by=request.user))


@require_POST
def cancel(request: StudioRequest, number: str) -> HttpResponse:
    why = request.POST.get("why", "")
    return _step(
        request, number, lambda ticket: actions.cancel(ticket=ticket, why=why, by=request.user)
    )


@require_POST
def undo(request: StudioRequest, number: str) -> HttpResponse:
    key = request.POST.get("entry", "")
    ticket = ticket_or_404(number)
    entry = get_object_or_404(of(ticket), pk=key if key.isdecimal() else 0)
    return _step(
        request, number, lambda ticket: actions.undo(ticket=ticket, entry=entry, by=request.user)
    )


@require_POST
def move_promise(request: StudioRequest, number: str) -> HttpResponse:
    form = PromiseForm(request.POST)
    if not form.is_valid():
        return _refuse(request, number, form)
    day = form.cleaned_data["day"]
    promise_at = clock.at(day, form.cleaned_data["time"])
    if not load_week().is_open(day):
        shown = show_day(day, request.studio.locale)
        messages.warning(request, f"The studio is closed on {shown}. It is promised all the same.")
    return _step(
        request,
        number,
        lambda ticket: actions.move_promise(
            ticket=ticket,
            promise_at=promise_at,
            studio=request.studio,
            by=request.user,
            reason=form.cleaned_data["reason"],
        ),
    )


@require_POST
def tick(request: StudioRequest, pk: int) -> HttpResponse:
    return _line_step(request, pk, lambda line: actions.tick(line=line, by=request.user))


@require_POST
def untick(request: StudioRequest, pk: int) -> HttpResponse:
    return _line_step(request, pk, lambda line: actions.untick(line=line, by=request.user))


@require_POST
def why_not(request: StudioRequest, pk: int) -> HttpResponse:
    form = WhyForm(request.POST)
    why = form.cleaned_data["why"] if form.is_valid() else ""
    return _line_step(
        request, pk, lambda line: actions.why_not_done(line=line, why=why, by=request.user)
    )


@require_POST
def add_photo(request: StudioRequest, pk: int) -> HttpResponse:
    garment = _garment(pk)
    form = GarmentPhotoForm(request.POST, request.FILES)
    if not form.is_valid():
        return _refuse(request, garment.ticket.number, form)
    photos.add(form.cleaned_data["picture"], garment=garment, by=request.user)
    return redirect(garment.ticket)


@require_POST
def note_care(request: StudioRequest, pk: int) -> HttpResponse:
    """Keep what the care label says."""
    garment = _garment(pk)
    form = CareForm(request.POST, instance=garment)
    if not form.is_valid():
        return _refuse(request, garment.ticket.number, form)
    return _garment_step(
        request,
        garment,
        lambda: actions.note_care(garment=garment, by=request.user, **form.cleaned_data),
    )


@require_POST
def note_worn(request: StudioRequest, pk: int) -> HttpResponse:
    """Keep the shoes, the underwear and the heel height of the fitting."""
    garment = _garment(pk)
    form = WornForm(request.POST, studio=request.studio)
    if not form.is_valid():
        return _refuse(request, garment.ticket.number, form)
    return _garment_step(
        request,
        garment,
        lambda: actions.note_worn(garment=garment, worn=form.worn(), by=request.user),
    )


@require_POST
def read_caution(request: StudioRequest, pk: int) -> HttpResponse:
    """Somebody has read a caution."""
    garment, key = _garment(pk), request.POST.get("caution", "")
    return _garment_step(
        request,
        garment,
        lambda: actions.read_caution(garment=garment, key=key, by=request.user),
    )


@require_GET
def photo(request: StudioRequest, pk: int) -> FileResponse:
    kept = get_object_or_404(Photo, pk=pk)
    response = FileResponse(kept.file.open("rb"), content_type="image/jpeg")
    response.headers["Cache-Control"] = "private, max-age=86400, immutable"
    return response


def _step(
    request: StudioRequest, number: str, act: Callable[[Ticket], object], at: str = ""
) -> HttpResponse:
    """Take one step on a ticket and go back to its page, to the garment ``at`` that letter."""
    ticket = ticket_or_404(number)
    try:
        act(ticket)
    except actions.TicketError as wrong:
        messages.error(request, str(wrong))
        return redirect(ticket)
    return redirect(f"{ticket.get_absolute_url()}#{at}" if at else ticket)


def _line_step(request: StudioRequest, pk: int, act: Callable[[Line], Ticket]) -> HttpResponse:
    line = get_object_or_404(Line.objects.select_related("garment__ticket"), pk=pk)
    garment = line.garment
    return _step(request, garment.ticket.number, lambda _ticket: act(line), at=garment.letter)


def _garment(pk: int) -> Garment:
    return get_object_or_404(Garment.objects.select_related("ticket"), pk=pk, removed_at=None)


def _garment_step(
    request: StudioRequest, garment: Garment, act: Callable[[], object]
) -> HttpResponse:
    return _step(request, garment.ticket.number, lambda _ticket: act(), at=garment.letter)


def _refuse(request: StudioRequest, number: str, form) -> HttpResponse:
    for field in form:
        for wrong in field.errors:
            messages.error(request, f"{field.label}: {wrong}")
    return redirect("ticket", number)
