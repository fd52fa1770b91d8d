"""The shelf, and one cloth on it."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.fields import length_unit
from jobs.makes.ideas.actions import mean_cloth, spare_cloth
from jobs.makes.models import Cloth, Make
from jobs.makes.shelf import actions, queries
from jobs.makes.shelf.documents import CARDS
from jobs.makes.shelf.forms import ClothForm, NewClothForm, ShelfForm
from jobs.makes.shelf.move_forms import CutForm, MeanForm
from studio.shop.http import StudioRequest, go_back, sent

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
