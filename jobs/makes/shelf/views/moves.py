"""Cloth is cut, put back, washed, measured and given away; and what moved in a year."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.fields import length_unit
from jobs.makes.models import Cloth, ClothMove
from jobs.makes.shelf import actions, move_forms, queries
from jobs.makes.shelf.tables import MoveTable
from studio.shop.http import StudioRequest, go_back, sent
from studio.shop.paging import show_page


@dataclass(frozen=True)
class Verb:
    """A step with a cloth: its form, its action, and what its page and its button say."""

    form: type[move_forms.MoveForm]
    act: Callable[..., Cloth]
    title: str
    button: str


VERBS = {
    "cut": Verb(move_forms.CutForm, actions.cut, "Cut {}", "Cut it"),
    "back": Verb(move_forms.BackForm, actions.put_back, "Put back {}", "Put it back"),
    "wash": Verb(move_forms.WashForm, actions.wash, "Washed: {}", "It is washed"),
    "measure": Verb(
        move_forms.MeasureForm, actions.measure_again, "Measure {} again", "This is there"
    ),
    "give": Verb(move_forms.GiveForm, actions.give_away, "Give away {}", "Give it away"),
}


@require_http_methods(["GET", "POST"])
def step(request: StudioRequest, pk: int, verb: str) -> HttpResponse:
    cloth, does = get_object_or_404(Cloth, pk=pk), VERBS[verb]
    form = does.form(sent(request), cloth=cloth, studio=request.studio)
    if form.is_valid():
        try:
            after = does.act(cloth=cloth, by=request.user, **form.told())
        except actions.ShelfError as wrong:
            form.add_error(wrong.field, str(wrong))
        else:
            return _done(request, after, form.cleaned_data["form_key"])
    told = {"cloth": cloth, "form": form, "title": does.title.format(cloth), "button": does.button}
    return render(request, "makes/shelf/step.html", told)


@require_POST
def undo(request: StudioRequest, pk: int) -> HttpResponse:
    """Take back the move ``pk``, as long as it is the last of its cloth."""
    last = get_object_or_404(ClothMove.objects.select_related("cloth", "make"), pk=pk)
    try:
        actions.take_back(last=last, by=request.user)
    except actions.ShelfError as wrong:
        messages.error(request, str(wrong))
    return go_back(request, last.cloth)


@require_GET
def year(request: StudioRequest, year: int) -> HttpResponse:
    """The rows behind what came in and went out in a year."""
    if not 1900 <= year <= 9999:
        raise Http404
    way = request.GET.get("way", "")
    table = MoveTable(queries.year_moves(year, way))
    show_page(table, request)
    sums = next((row for row in queries.cloth_years() if row.year == year), None)
    told: dict[str, Any] = {"year": year, "way": way, "table": table, "sums": sums}
    told |= {"said": queries.way_said(way), "length_unit": length_unit(request.studio)}
    return render(request, "makes/shelf/year.html", told)


def _done(request: StudioRequest, cloth: Cloth, form_key: UUID) -> HttpResponse:
    """Say what was done, with a button that takes it back where that can be done."""
    move = ClothMove.objects.filter(form_key=form_key, cloth=cloth).first()
    if move:
        told = {"move": move, "cloth": cloth, "undo": move.why in actions.TAKEN_BACK}
        messages.success(request, render_to_string("makes/shelf/_done.html", told, request))
    return redirect(cloth)
