"""One make: its page, what is written on it, and how it ended."""

from django.contrib import messages
from django.forms import model_to_dict
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.ideas import actions, queries
from jobs.makes.ideas.errors import MakeError
from jobs.makes.ideas.forms import HEATS, CardForm, ClothForm, FinishForm, MorePicturesForm
from jobs.makes.ideas.tables import FATES
from jobs.makes.ideas.views.telling import done, refused
from jobs.makes.models import Cloth, Make
from jobs.makes.pictures import keep
from studio.shop.http import StudioRequest, sent


@require_GET
def make(request: StudioRequest, pk: int) -> HttpResponse:
    found = queries.make_or_404(pk)
    return render(
        request,
        "makes/ideas/make.html",
        {
            "make": found,
            "heats": HEATS,
            "fates": FATES,
            "cloth_form": ClothForm(studio=request.studio),
            "picture_form": MorePicturesForm(),
        },
    )


@require_http_methods(["GET", "POST"])
def edit(request: StudioRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Make, pk=pk)
    form = CardForm(sent(request), instance=found, studio=request.studio)
    if form.is_valid():
        step = actions.describe(make=found, **form.cleaned_data)
        return done(request, step, found.get_absolute_url())
    return render(request, "makes/ideas/edit.html", {"make": found, "form": form})


@require_http_methods(["GET", "POST"])
def finish(request: StudioRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Make, pk=pk)
    written = model_to_dict(found, ["changes", "learnt"])
    form = FinishForm(sent(request), request.FILES or None, initial=written)
    if not form.is_valid():
        return render(request, "makes/ideas/finish.html", {"make": found, "form": form})
    told = form.cleaned_data
    photo = told.pop("photo")
    try:
        step = actions.finish(make=found, picture=photo and keep(photo), **told)
    except MakeError as wrong:
        messages.error(request, str(wrong))
        return redirect(found)
    return done(request, step, found.get_absolute_url())


@require_POST
def picture_add(request: StudioRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Make, pk=pk)
    form = MorePicturesForm(request.POST, request.FILES)
    if not form.is_valid():
        refused(request, form)
        return redirect(found)
    told = form.cleaned_data
    step = actions.add_pictures(make=found, **told)
    return done(request, step, found.get_absolute_url())


@require_POST
def picture_off(request: StudioRequest, pk: int, picture: int) -> HttpResponse:
    found = get_object_or_404(Make, pk=pk)
    step = actions.take_picture_off(
        make=found, picture=get_object_or_404(found.pictures, pk=picture)
    )
    return done(request, step, found.get_absolute_url())


@require_POST
def cloth_add(request: StudioRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Make, pk=pk)
    form = ClothForm(request.POST, studio=request.studio)
    if form.is_valid():
        actions.mean_cloth(make=found, **form.cleaned_data)
    else:
        refused(request, form)
    return redirect(found)


@require_POST
def cloth_off(request: StudioRequest, pk: int, cloth: int) -> HttpResponse:
    found = get_object_or_404(Make, pk=pk)
    actions.spare_cloth(make=found, cloth=get_object_or_404(Cloth, pk=cloth))
    return redirect(found)
