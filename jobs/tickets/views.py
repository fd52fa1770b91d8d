"""A ticket's steps, photographs with marks, papers, initials, cautions."""

from collections.abc import Callable
from datetime import datetime

from django import forms
from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
    require_safe,
)

from clients.cautions.garments import SAFETY
from clients.sheets.known import body_of
from jobs.tickets import actions
from jobs.tickets.actions import photographs
from jobs.tickets.actions.agree import ask_amount, give_initials, is_asked
from jobs.tickets.actions.lock import TicketError
from jobs.tickets.actions.photographs import place_mark, remove_mark
from jobs.tickets.documents.layouts import ticket_facts
from jobs.tickets.fit.answers import Pin
from jobs.tickets.fit.body import measures_about
from jobs.tickets.fit.doubts import SURE, amount_doubt
from jobs.tickets.forms import (
    CareForm,
    CordForm,
    GarmentPhotoForm,
    InfantForm,
    InitialsForm,
    MarkForm,
    MeasureForm,
    PromiseDayForm,
    WhyForm,
    WornForm,
    first_letters,
)
from jobs.tickets.models import Agreement, FitSum, Garment, Initials, Line, Mark, Photo, Ticket
from jobs.tickets.queries import marked_photo, ticket_or_404
from studio.shop import clock
from studio.shop.history import of, sentence, undoable
from studio.shop.http import StudioRequest, absolute, go_back, say, sent, ticked
from studio.shop.locales import show_day
from studio.shop.may import Tick
from studio.shop.models import LONGEST_PLACE
from studio.shop.week import load_week


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
    why, leaves = request.POST.get("why", ""), bool(request.POST.get("leaves"))
    return _step(
        request,
        number,
        lambda ticket: actions.cancel(ticket=ticket, why=why, leaves=leaves, by=request.user),
    )


@require_POST
def hand_back(request: StudioRequest, number: str) -> HttpResponse:
    return _step(request, number, lambda ticket: actions.hand_back(ticket=ticket, by=request.user))


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
    form = PromiseDayForm(request.POST)
    if not form.is_valid():
        return _refuse(request, number, form)
    day = form.cleaned_data["day"]
    promise_at = clock.at(day, form.cleaned_data["time"])
    if not load_week().is_open(day):
        shown = show_day(day, request.studio.locale)
        messages.warning(request, f"The studio is closed on {shown}. It is promised all the same.")
    if not request.user.may(Tick.AGREED):
        return ask_promise(request, ticket_or_404(number), promise_at, form.cleaned_data["reason"])
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


def ask_promise(
    request: StudioRequest, ticket: Ticket, promise_at: datetime, reason: str
) -> HttpResponse:
    """Another promise is a question to the owner from whoever may not change what is agreed."""
    delta = [["ready", ticket.promise_at.isoformat(), promise_at.isoformat()]]
    try:
        actions.ask_change(
            ticket=ticket, delta=delta, promise_at=promise_at, reason=reason, by=request.user
        )
    except TicketError as wrong:
        messages.error(request, str(wrong))
    else:
        say_step(request, ticket, ASKED)
    return redirect(ticket)


ASKED = "Asked. It stands as agreed until the owner says yes."


def ask_for_amount(
    request: StudioRequest,
    line: Line,
    pin: Pin,
    *,
    reason: str = "",
    kept: FitSum | None = None,
    back: str = "",
) -> None:
    """Another amount of a line is a question too. Raises TicketError."""
    asked = ask_amount(
        line=line, pin=pin, studio=request.studio, by=request.user, reason=reason, kept=kept
    )
    if asked:
        say_step(request, line.garment.ticket, f"{line.name}: {pin.words}. {ASKED}", back=back)
    else:
        messages.info(request, f"{line.name}: {pin.words} is agreed already.")


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


@require_http_methods(["GET", "POST"])
def measure(request: StudioRequest, pk: int) -> HttpResponse:
    """Give the amount of work that was to be measured later."""
    lines = Line.objects.select_related("garment__ticket__client")
    line = get_object_or_404(lines, pk=pk, removed_at=None)
    form = MeasureForm(sent(request), line=line, studio=request.studio)
    kind, body = line.garment.kind_name, body_of(line.garment.ticket.client, by=request.user)
    doubt = amount_doubt(kind, line, form.pin, body) if form.is_valid() else None
    if not form.is_valid() or (doubt and request.POST.get(SURE) != doubt.key):
        facts = body.of(measures_about(kind, line.name, line.work_order))
        context = {"line": line, "form": form, "facts": facts, "doubt": doubt}
        return render(request, "tickets/measure.html", context)
    if is_asked(line, request.user):
        try:
            ask_for_amount(request, line, form.pin)
        except TicketError as wrong:
            messages.error(request, str(wrong))
        return redirect(line.garment.ticket)

    def act(line: Line) -> Ticket:
        return actions.measure(line=line, pin=form.pin, studio=request.studio, by=request.user)

    return _line_step(request, pk, act)


@require_POST
def add_photo(request: StudioRequest, pk: int) -> HttpResponse:
    garment = _garment(pk)
    form = GarmentPhotoForm(request.POST, request.FILES)
    if not form.is_valid():
        return _refuse(request, garment.ticket.number, form)
    photographs.add(form.cleaned_data["picture"], garment=garment, by=request.user)
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


@require_http_methods(["GET", "POST"])
def garment_hangs(request: StudioRequest, pk: int) -> HttpResponse:
    """Where a garment hangs: one tap on a place; with ``all`` its ticket's others too."""
    garment = _garment(pk)
    ticket = ticket_or_404(garment.ticket.number)
    here = [one for one in ticket.garments.all() if one.handed_over_at is None]
    back = request.GET.get("back", "")
    if request.method == "POST":
        moved = here if request.POST.get("all") else [one for one in here if one.pk == pk]
        place = request.POST.get("place") or request.POST.get("other", "")
        # Away from the ticket's page a letter alone names nothing.
        words = _hung(ticket, moved, place) if request.POST.get("back") else ""
        return _step(
            request,
            ticket.number,
            lambda ticket: actions.hang(
                ticket=ticket, garments=moved or [garment], place=place, by=request.user
            ),
            at=garment.letter,
            words=words,
        )
    shown = next((one for one in here if one.pk == pk), None)
    if shown is None:
        return redirect(ticket)
    context = {
        "ticket": ticket,
        "garment": shown,
        "here": here,
        "together": all(one.hangs == shown.hangs for one in here),
        "back": back,
        "usual_places": request.studio.usual_places,
        "letters": LONGEST_PLACE,
    }
    return render(request, "tickets/hangs.html", context)


def _hung(ticket: Ticket, garments: list[Garment], place: str) -> str:
    """``Trousers, black, Una Fennimore: rail 2.``"""
    which = " and ".join(dict.fromkeys(str(garment) for garment in garments))
    return f"{which}, {ticket.client.name}: {' '.join(place.split()) or 'no place'}."


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
    request: StudioRequest,
    number: str,
    act: Callable[[Ticket], object],
    at: str = "",
    words: str = "",
) -> HttpResponse:
    """Take one step on a ticket and go back to its page, to the garment ``at`` that letter.

    What was done is said there, in ``words`` or as the history says it, with its undo.
    """
    ticket = ticket_or_404(number)
    before = undoable(of(ticket), request.user)
    try:
        act(ticket)
    except actions.TicketError as wrong:
        messages.error(request, str(wrong))
        return go_back(request, ticket)
    entry = undoable(of(ticket), request.user)
    if entry and (before is None or entry.pk > before.pk):
        say_step(request, ticket, words or sentence(entry, request.studio.locale))
    return go_back(request, f"{ticket.get_absolute_url()}#{at}" if at else ticket)


def say_step(request: StudioRequest, ticket: Ticket, words: str, back: str = "") -> None:
    """A notice of the last step on a ticket. Its Undo leads back to where the step was taken."""
    entry = undoable(of(ticket)[:5], request.user)
    back = request.POST.get("back") or back
    if entry is None:
        messages.success(request, words)
    else:
        undo = reverse("ticket-undo", args=[ticket.number])
        fields = {"entry": entry.pk} | ({"back": back} if back else {})
        say(request, words, undo=undo, **fields)


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


def _refuse(request: StudioRequest, number: str, form: forms.BaseForm) -> HttpResponse:
    for field in form:
        for wrong in field.errors:
            messages.error(request, f"{field.label}: {wrong}")
    return redirect("ticket", number)


USUAL_MARKS = ("Stain", "Hole", "Pin", "Worn thin", "Seam open", "Button missing")


@require_http_methods(["GET", "POST"])
def photo_marks(request: StudioRequest, pk: int) -> HttpResponse:
    photos = Photo.objects.select_related("garment__ticket")
    photo = get_object_or_404(photos, pk=pk)
    if (garment := photo.garment) is None:
        raise Http404("This photograph belongs to no ticket yet.")
    form = MarkForm(sent(request), photo=photo)
    if request.method == "POST" and form.place and not form.data.get("words", "").strip():
        # The place first, then the words: that is half of a mark and nothing wrong.
        form = MarkForm(photo=photo, place=form.place)
    elif request.method == "POST" and form.is_valid():
        across, down = form.cleaned_data["place"]
        try:
            place_mark(
                photo=photo,
                across=across,
                down=down,
                words=form.cleaned_data["words"],
                by=request.user,
            )
        except TicketError as wrong:
            messages.error(request, str(wrong))
        return redirect("photo-marks", pk)
    context = {
        "photo": photo,
        "garment": garment,
        "ticket": garment.ticket,
        "form": form,
        "marked": marked_photo(photo, pending=form.place),
        "usual": USUAL_MARKS,
    }
    return render(request, "tickets/marks/photo_marks.html", context)


@require_POST
def mark_remove(request: StudioRequest, pk: int) -> HttpResponse:
    mark = get_object_or_404(Mark.objects.select_related("photo__garment__ticket"), pk=pk)
    try:
        remove_mark(mark=mark, by=request.user)
    except TicketError as wrong:
        messages.error(request, str(wrong))
    return redirect("photo-marks", mark.photo_id)


@require_safe
def cautions(request: StudioRequest) -> HttpResponse:
    asked = request.GET.get("ask")
    cord = CordForm(request.GET if asked == "cord" else None, studio=request.studio)
    infant = InfantForm(request.GET if asked == "infant" else None, studio=request.studio)
    return render(
        request,
        "tickets/cautions.html",
        {
            "cautions": SAFETY.values(),
            "cord": cord,
            "infant": infant,
            "cord_answers": cord.answers() if cord.is_valid() else [],
            "infant_asked": infant.is_valid(),
            "infant_exempt": infant.is_valid() and infant.exempt(),
        },
    )


@ticked(Tick.PRICES)
@require_http_methods(["GET", "POST"])
def agreement_initials(request: StudioRequest, number: str, version: int) -> HttpResponse:
    """Initials under one version: a form for the current one, else what was given."""
    agreements = Agreement.objects.select_related("ticket__client", "initials__by")
    agreement = get_object_or_404(agreements, version=version, ticket__number=number.upper())
    ticket = agreement.ticket
    letters = first_letters(agreement.data["client"]["name"])
    form = InitialsForm(sent(request), initial={"letters": letters})
    if request.method == "POST" and form.is_valid():
        facts = form.cleaned_data
        try:
            give_initials(
                agreement=agreement,
                way=facts["way"],
                letters=facts["letters"],
                ink=facts["ink"],
                by=request.user,
            )
        except TicketError as wrong:
            messages.error(request, str(wrong))
        return redirect(ticket)
    address = absolute(request, ticket.get_absolute_url())
    context = {
        "ticket": ticket,
        "agreement": agreement,
        "agreed": ticket_facts(agreement.data, address=address),
        "form": form,
        "current": ticket.is_open and version == ticket.version,
    }
    return render(request, "tickets/initials/initials.html", context)


@ticked(Tick.PRICES)
@require_GET
def drawn_initials(request: StudioRequest, pk: int) -> FileResponse:
    """The ink of initials that were given on the glass."""
    given = get_object_or_404(Initials.objects.exclude(file=""), pk=pk)
    response = FileResponse(given.file.open("rb"), content_type="image/png")
    response.headers["Cache-Control"] = "private, max-age=86400, immutable"
    return response
