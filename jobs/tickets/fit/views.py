"""The fit of one garment: its cloth, the sums, and what was kept of them."""

from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import Prefetch
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients.fields import unit_of
from clients.fit import FitError
from clients.fit.hems import hem_garments
from clients.sheets.known import Body, body_of
from jobs.tickets.actions import note_cloth
from jobs.tickets.actions.agree import is_asked
from jobs.tickets.actions.lock import TicketError
from jobs.tickets.fit import actions
from jobs.tickets.fit.answers import Pin, SumAnswer
from jobs.tickets.fit.doubts import SURE, AmountDoubt, amount_doubt
from jobs.tickets.fit.sums import FORMS, SUMS
from jobs.tickets.fit.sums.base import UNWORN, SumForm
from jobs.tickets.forms import ClothKindForm
from jobs.tickets.models import FitSum, Garment, Line
from jobs.tickets.views import ask_for_amount, say_step
from studio.shop.http import StudioRequest
from studio.shop.look.garments import drawing_of


def garment_or_404(pk: int) -> Garment:
    """The garment with its ticket, client, photographs and the lines on it, in three queries."""
    lines = Prefetch("lines", Line.objects.filter(removed_at=None).select_related("operation"))
    garments = Garment.objects.select_related("ticket__client").prefetch_related(lines, "photos")
    return get_object_or_404(garments, pk=pk, removed_at=None)


def open_lines(garment: Garment) -> list[Line]:
    """The garment's work that an amount can be agreed on: still to do, and asking how far.

    Work that is not on the price list may ask anything.
    """
    if not garment.ticket.is_open:
        return []
    return [line for line in garment.lines.all() if not line.done_at and _asks_how_far(line)]


def _asks_how_far(line: Line) -> bool:
    if line.operation is None or line.amount_mm is not None or line.measure_later:
        return True
    return line.operation.takes_amount


def kept_sums(garment: Garment) -> list[FitSum]:
    """The garment's sums, latest first, each with its ``title``, and whether it is ``asked``."""
    sums = list(garment.fit_sums.select_related("line", "made_by"))
    asked = garment.ticket.asked_changes.filter(accepted=None).first() if sums else None
    for kept in sums:
        kept.title = SUMS[kept.kind].title  # type: ignore[attr-defined]
        kept.asked_by = asked.by if asked and asked.pin.get("sum") == kept.pk else None  # type: ignore[attr-defined]
    return sums


def known_ends(garment: Garment) -> list[tuple[str, str, str]]:
    """What the garment remembers of its edges: which, how long it was, and what was turned up."""
    names = hem_garments()
    return [
        (names.get(place, place), known.get("now", ""), known.get("turned_up", ""))
        for place, known in garment.cloth_ends.items()
    ]


@require_GET
def garment_fit(request: StudioRequest, pk: int) -> HttpResponse:
    garment = garment_or_404(pk)
    drawing = drawing_of(garment.kind_name)
    return render(
        request,
        "tickets/fit/garment.html",
        {
            "garment": garment,
            "sums": [form for form in FORMS if form.suits(drawing)],
            "window": drawing == "curtains",
            "kept": kept_sums(garment),
            "ends": known_ends(garment),
            "form": ClothKindForm({"cloth": garment.cloth}),
        },
    )


@require_POST
def garment_cloth(request: StudioRequest, pk: int) -> HttpResponse:
    garment = garment_or_404(pk)
    form = ClothKindForm(request.POST)
    if form.is_valid():
        try:
            note_cloth(garment=garment, cloth=form.cleaned_data["cloth"], by=request.user)
        except TicketError as wrong:
            messages.error(request, str(wrong))
    return redirect("garment-fit", garment.pk)


@require_http_methods(["GET", "POST"])
def fit_sum(request: StudioRequest, pk: int, kind: str) -> HttpResponse:
    """Reckon what the address asks; sent as a form it is kept, and agreed on ``line`` if named."""
    if kind not in SUMS:
        raise Http404(f"There is no sum {kind}.")
    garment = garment_or_404(pk)
    sent = request.POST if request.method == "POST" else request.GET or None
    form = _form(SUMS[kind], request, sent, garment)
    answer = _answer(form, garment)
    lines = form.lines_answered(open_lines(garment), answer.pin) if answer else []
    if answer and request.method == "POST":
        asked = next((line for line in lines if str(line.pk) == request.POST.get("line")), None)
        lines = [asked] if asked else lines
        doubt = _doubt(garment, form, answer, asked)
        if doubt is None or request.POST.get(SURE) == doubt.key:
            return _keep(request, garment, form, answer)
    if answer and (pin := answer.pin):
        for line in lines:
            line.becomes = becomes(line, pin)  # type: ignore[attr-defined]
    return render(
        request,
        "tickets/fit/sum.html",
        {
            "garment": garment,
            "form": form,
            "answer": answer,
            "cautions": answer.caution_sentences(form.unit) if answer else [],
            "instead": urlencode(form.asked() | answer.instead) if answer else "",
            "amount_for": lines if answer and answer.good else [],
            "doubt": _doubt(garment, form, answer, lines[0] if lines else None),
        },
    )


def becomes(line: Line, pin: Pin) -> str:
    """What the amount of the line is, and what it would be: ``finished 77 cm becomes 75 cm``."""
    if line.amount_mm is None:
        return pin.words
    if line.pinned == pin.words:
        return f"{pin.words}: as agreed"
    now = line.pinned
    if line.basis == pin.basis:
        now = now.rpartition(", ")[0]
    new = pin.words
    if line.measure == pin.measure:
        new = new.removeprefix(line.amount_parts[0])
    return f"{now} becomes {new}"


def _doubt(
    garment: Garment, form: SumForm, answer: SumAnswer | None, line: Line | None
) -> AmountDoubt | None:
    """What is to be asked before the answer becomes the amount of the line."""
    if line is None or answer is None or answer.pin is None or not answer.good:
        return None
    return amount_doubt(garment.kind_name, line, answer.pin, form.body)


def _form(
    kind: type[SumForm], request: StudioRequest, sent: QueryDict | None, garment: Garment
) -> SumForm:
    """As it was sent; else with what is known, answered at once where that is enough."""
    studio = request.studio
    worn = drawing_of(garment.kind_name) not in UNWORN
    body = Body()
    if worn and kind.answered_by:
        body = body_of(garment.ticket.client, by=request.user)
    start = kind.filled(kind.start(garment, unit_of(studio)), body)
    sent = kind.moved(sent, body) if sent else sent
    form = kind(sent, studio=studio, body=body, initial=start)
    if sent is None and kind.answers_at_once(start):
        usual = {name: field.initial for name, field in form.fields.items() if field.initial}
        known = kind(usual | start, studio=studio, body=body)
        if known.is_valid():
            return known
    return form


def _answer(form: SumForm, garment: Garment) -> SumAnswer | None:
    """The answer of a valid form; figures that do not go together are told at their field."""
    if not form.is_valid():
        return None
    try:
        return form.answered(garment)
    except FitError as wrong:
        form.add_error(form.blame, str(wrong))
        return None


def _keep(
    request: StudioRequest, garment: Garment, form: SumForm, answer: SumAnswer
) -> HttpResponse:
    asked_line = request.POST.get("line", "")
    line = next((line for line in open_lines(garment) if str(line.pk) == asked_line), None)
    answered = form.lines_answered([line] if line else [], answer.pin)
    address = reverse("garment-fit", args=[garment.pk])
    try:
        if line and answer.pin and line not in answered:
            raise TicketError(f"This sum does not say how far to go with: {line.name}.")
        kept = actions.keep(
            garment=garment, kind=form.kind, asked=form.asked(), answer=answer,
            unit=form.unit, line=line, by=request.user,
        )  # fmt: skip
        if asked_line and line is None:
            raise TicketError("This work is done or no longer on the garment.")
        if line and answer.pin and is_asked(line, request.user):
            ask_for_amount(request, line, answer.pin, reason=answer.says, kept=kept, back=address)
        elif line:
            actions.put_on_line(
                kept=kept, answer=answer, line=line, studio=request.studio, by=request.user
            )
            say_step(request, garment.ticket, f"Agreed on {line.name}: {answer.says}", back=address)
    except TicketError as wrong:
        messages.error(request, str(wrong))
    return redirect(address)
