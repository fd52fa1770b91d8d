"""The shelf, a cloth on it and its card; cloth is cut, put back, washed, measured, given away."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.ideas.actions import mean_cloth, spare_cloth
from jobs.makes.lengths import length_unit
from jobs.makes.models import Cloth, ClothMove, Make
from jobs.makes.shelf import actions, forms, queries
from jobs.makes.shelf.documents import CARDS, swatch_cards, title
from jobs.makes.shelf.forms import ClothForm, CutForm, MeanForm, NewClothForm, ShelfForm
from jobs.makes.tables import MoveTable
from studio.shop.http import StudioRequest, go_back, sent
from studio.shop.paper import show_pdf
from studio.shop.tables import show_page

FORM = require_http_methods(["GET", "POST"])


@require_GET
def shelf(request: StudioRequest) -> HttpResponse:
    form = ShelfForm(request.GET, studio=request.studio)
    found = queries.list_cloth(form.chosen())
    told = {"form": form, "page": queries.shelf_page(found, request.GET.get("page"))}
    lengths, mm = queries.on_the_shelf()
    told |= {"lengths": lengths, "mm": mm, "years": queries.cloth_years()}
    told["length_unit"] = length_unit(request.studio)
    return render(request, "makes/shelf/shelf.html", told)


@require_GET
def cloth(request: StudioRequest, pk: int) -> HttpResponse:
    found = queries.cloth_or_404(pk)
    return _page(request, found)


@FORM
def new(request: StudioRequest) -> HttpResponse:
    form = NewClothForm(
        sent(request), request.FILES or None, studio=request.studio, money=request.user.is_owner
    )
    if not form.is_valid():
        return render(request, "makes/shelf/new.html", {"form": form})
    told = form.cleaned_data
    added = actions.add_cloth(
        facts=form.facts(),
        length=told["length"],
        by=request.user,
        form_key=told["form_key"],
        swatch=told["swatch"],
    )
    return redirect(added)


@FORM
def edit(request: StudioRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Cloth, pk=pk)
    told: dict[str, Any] = {"studio": request.studio, "money": request.user.is_owner}
    form = ClothForm(sent(request), request.FILES or None, instance=found, **told)
    if not form.is_valid():
        return render(request, "makes/shelf/edit.html", {"cloth": found, "form": form})
    swatch = form.cleaned_data["swatch"]
    return redirect(actions.change_cloth(cloth=found, facts=form.facts(), swatch=swatch))


@require_POST
def mean(request: StudioRequest, pk: int) -> HttpResponse:
    """The cloth is meant for a make."""
    found = queries.cloth_or_404(pk)
    form = MeanForm(request.POST, cloth=found, studio=request.studio)
    if not form.is_valid():
        return _page(request, found, mean_form=form)
    mean_cloth(cloth=found, **form.cleaned_data)
    return redirect(found)


@require_POST
def spare(request: StudioRequest, pk: int, make: int) -> HttpResponse:
    """It is free again."""
    found = get_object_or_404(Cloth, pk=pk)
    spare_cloth(make=get_object_or_404(Make, pk=make), cloth=found)
    return go_back(request, found)


def _page(request: StudioRequest, found: Cloth, **forms: Any) -> HttpResponse:
    told = {
        "cloth": found,
        "moves": queries.cloth_moves(found),
        "plans": queries.cloth_plans(found),
        "papers": CARDS,
        "cut_form": CutForm(cloth=found, studio=request.studio),
        "mean_form": MeanForm(cloth=found, studio=request.studio),
    }
    return render(request, "makes/shelf/cloth.html", told | forms)


@dataclass(frozen=True)
class Verb:
    """A step with a cloth: its form, its action, and what its page and its button say."""

    form: type[forms.MoveForm]
    act: Callable[..., Cloth]
    title: str
    button: str


VERBS = {
    "cut": Verb(forms.CutForm, actions.cut, "Cut {}", "Cut it"),
    "back": Verb(forms.BackForm, actions.put_back, "Put back {}", "Put it back"),
    "wash": Verb(forms.WashForm, actions.wash, "Washed: {}", "It is washed"),
    "measure": Verb(forms.MeasureForm, actions.measure_again, "Measure {} again", "This is there"),
    "give": Verb(forms.GiveForm, actions.give_away, "Give away {}", "Give it away"),
}


@require_http_methods(["GET", "POST"])
def step(request: StudioRequest, pk: int, verb: str) -> HttpResponse:
    cloth, does = get_object_or_404(Cloth, pk=pk), VERBS[verb]
    form = does.form(sent(request), cloth=cloth, studio=request.studio)
    if form.is_valid():
        try:
            after = does.act(cloth=cloth, by=request.user, **form.facts())
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
    table = MoveTable(queries.year_moves(year, way), studio=request.studio)
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


@require_GET
def card(request: StudioRequest, pk: int) -> HttpResponse:
    """``paper`` is one of ``CARDS``, else A6. On A4 and Letter the newest others fill the page."""
    page = request.GET.get("paper", "")
    page = page if page in CARDS else "A6"
    cloths = queries.card_and_newest(queries.cloth_or_404(pk), CARDS[page])
    return show_pdf(title(cloths), swatch_cards(cloths, request.studio, page=page))
