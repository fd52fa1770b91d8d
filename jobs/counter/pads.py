"""Pads of paper tickets for a day without power: printed ahead, typed in later, or voided."""

from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs.counter.notices import lay_out
from jobs.tickets.actions import TicketError
from jobs.tickets.actions.pads import MOST_ON_A_PAD, reserve, void
from jobs.tickets.models import Pad, PadNumber
from jobs.tickets.queries import numbers_of_year
from studio.shop import clock, history, paper
from studio.shop.forms import OnceForm
from studio.shop.http import StudioRequest, absolute, owner_only, say, sent
from studio.shop.paper import code_png, show_pdf

USUAL = 20


class PadForm(OnceForm):
    count = forms.IntegerField(
        label="How many tickets", min_value=1, max_value=MOST_ON_A_PAD, initial=USUAL
    )


@owner_only
@require_http_methods(["GET", "POST"])
def pads(request: StudioRequest) -> HttpResponse:
    """All pads, and a new one; what became of this year's numbers. Five queries for any number."""
    form = PadForm(sent(request), studio=request.studio)
    if form.is_valid():
        facts = form.cleaned_data
        pad = reserve(count=facts["count"], form_key=facts["form_key"], by=request.user)
        return redirect(pad)
    waiting = Count("numbers", filter=Q(numbers__ticket=None, numbers__voided_at=None))
    rows: Any = Pad.objects.annotate(waiting=waiting).prefetch_related("numbers")
    context = {"form": form, "pads": rows, "numbers": numbers_of_year(clock.today().year)}
    return render(request, "counter/pads.html", context)


@owner_only
@require_safe
def pad(request: StudioRequest, pk: int) -> HttpResponse:
    """Its numbers: typed in, void, or open."""
    shown = get_object_or_404(Pad, pk=pk)
    numbers = list(shown.numbers.select_related("ticket__client"))
    waiting = [one for one in numbers if one.is_open]
    return render(
        request, "counter/pad.html", {"pad": shown, "numbers": numbers, "waiting": waiting}
    )


@owner_only
@require_POST
def pad_void(request: StudioRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Pad, pk=pk)
    numbers = request.POST.getlist("number")
    try:
        gone = void(pad=shown, numbers=numbers, why=request.POST.get("why", ""), by=request.user)
    except TicketError as wrong:
        messages.error(request, str(wrong))
        return redirect(shown)
    entry = history.undoable(history.of(shown), request.user)
    words = f"Void: {', '.join(str(one) for one in gone)}."
    if gone and entry:
        undo = reverse("studio-undo")
        say(request, words, undo=undo, entry=entry.pk, back=shown.get_absolute_url())
    return redirect(shown)


@owner_only
@require_safe
def pad_paper(request: StudioRequest, pk: int) -> HttpResponse:
    """The paper tickets of what is open still: printed again they have the same numbers."""
    shown = get_object_or_404(Pad, pk=pk)
    waiting = list(shown.numbers.open())
    if not waiting:
        messages.info(request, "Nothing of this pad is open: there is nothing to print.")
        return redirect(shown)
    name = f"Paper tickets {waiting[0]} to {waiting[-1]}"
    document = lay_out(
        request.studio,
        name,
        "pad",
        sheet="pad",
        pictures={one.number: code_png(_address(request, one)) for one in waiting},
        numbers=waiting,
        garments=range(4),
    )
    return show_pdf(name, paper.write([document], title=name))


def _address(request: StudioRequest, one: PadNumber) -> str:
    return absolute(request, reverse("ticket", args=[one.number]))
