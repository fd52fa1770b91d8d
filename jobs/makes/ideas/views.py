"""The wall of ideas, one make and its pictures, and the small buttons on a card."""

from collections.abc import Callable
from contextlib import suppress
from typing import Any

from django.contrib import messages
from django.core import signing
from django.forms import model_to_dict
from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes import pictures
from jobs.makes.ideas import actions, queries
from jobs.makes.ideas.actions import MakeError
from jobs.makes.ideas.forms import (
    HEATS,
    CardForm,
    FinishForm,
    IdeaForm,
    MakeClothForm,
    MorePicturesForm,
    QuickForm,
    StepForm,
)
from jobs.makes.ideas.steps import Step, unsealed
from jobs.makes.models import Cloth, Make, Picture, State
from jobs.makes.pictures import keep
from jobs.makes.tables import FATES, LetGoTable, MadeTable
from studio.shop.http import StudioRequest, go_back, sent
from studio.shop.tables import show_page


@require_GET
def wall(request: StudioRequest) -> HttpResponse:
    at = request.GET.get("at", "")
    parts = queries.wall(at=at, did=request.GET.get("did", ""))
    told = {"parts": parts, "form": QuickForm(), "heats": HEATS, "calm": not at}
    return render(request, "makes/ideas/wall.html", told)


@require_http_methods(["GET", "POST"])
def idea_new(request: StudioRequest) -> HttpResponse:
    """The whole card; the one line on the wall is sent here too."""
    if request.method == "GET":
        return _page(request, IdeaForm(studio=request.studio))
    form = IdeaForm(request.POST, request.FILES, studio=request.studio)
    pictures = _kept(form)
    if not form.is_valid():
        return _page(request, form, pictures)
    told = form.cleaned_data
    for name in ("photo", "sketch", "held"):
        del told[name]
    return done(request, actions.add_idea(pictures=pictures, **told), reverse("own"))


@require_POST
def whim(request: StudioRequest) -> HttpResponse:
    """Made today, from nothing."""
    form = QuickForm(request.POST, request.FILES)
    pictures = _kept(form)
    if not form.is_valid():
        return _page(
            request, IdeaForm(request.POST, request.FILES, studio=request.studio), pictures
        )
    told = form.cleaned_data
    step = actions.made_on_a_whim(words=told["words"], form_key=told["form_key"], pictures=pictures)
    return done(request, step, reverse("make", args=[step.make]))


@require_GET
def makes(request: StudioRequest) -> HttpResponse:
    """What was made, or what was let go."""
    state = State.LET_GO if request.GET.get("state") == State.LET_GO else State.FINISHED
    wanted = request.GET.get("q", "")
    table = (LetGoTable if state == State.LET_GO else MadeTable)(
        queries.put_away(state=state, wanted=wanted), studio=request.studio
    )
    show_page(table, request)
    return render(
        request, "makes/ideas/makes.html", {"table": table, "state": state, "wanted": wanted}
    )


def _kept(form: QuickForm | IdeaForm) -> list[Picture]:
    """The pictures of a form, kept at once, so that a wrong field elsewhere loses none."""
    form.full_clean()
    told = form.cleaned_data
    new = [
        keep(told[name], drawn=name == "sketch")
        for name in ("photo", "sketch")
        if told.get(name) and not _sent_before(told)
    ]
    return [*told.get("held", []), *new]


def _sent_before(told: dict[str, Any]) -> bool:
    key, words = told.get("form_key"), told.get("words", "")
    return key is not None and Make.objects.filter(form_key=key, words=words).exists()


def _page(
    request: StudioRequest, form: IdeaForm, held: list[Picture] | None = None
) -> HttpResponse:
    return render(request, "makes/ideas/new.html", {"form": form, "held": held or []})


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
            "cloth_form": MakeClothForm(studio=request.studio),
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
    form = MakeClothForm(request.POST, studio=request.studio)
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


@require_GET
def picture(request: StudioRequest, pk: int) -> FileResponse:
    return pictures.show(get_object_or_404(Picture, pk=pk))


VERBS: dict[str, Callable[..., Step]] = {
    "start": actions.start,
    "made": actions.finish,
    "let_go": actions.let_go,
    "take_up": actions.take_up,
}


@require_POST
def take(request: StudioRequest, pk: int, verb: str) -> HttpResponse:
    """A step that needs no more to be said."""
    return _step(request, pk, VERBS[verb])


@require_POST
def move(request: StudioRequest, pk: int) -> HttpResponse:
    """To another part of the wall, or up and down in its own."""
    make = get_object_or_404(Make, pk=pk)
    form = StepForm(request.POST)
    if not form.is_valid():
        refused(request, form)
    elif to := form.cleaned_data["to"]:
        return _step(request, pk, lambda make: actions.move_card(make=make, to=to))
    elif way := form.cleaned_data["way"]:
        actions.move_up_or_down(make=make, step=way, place=form.cleaned_data["place"] or 0)
        return redirect(f"{reverse('own')}?at={pk}&did={'up' if way < 0 else 'down'}")
    return go_back(request, make)


@require_POST
def heat(request: StudioRequest, pk: int) -> HttpResponse:
    form = StepForm(request.POST)
    if not form.is_valid():
        refused(request, form)
        return go_back(request, get_object_or_404(Make, pk=pk))
    told = form.cleaned_data["heat"]
    return _step(request, pk, lambda make: actions.set_heat(make=make, heat=told))


@require_POST
def fate(request: StudioRequest, pk: int) -> HttpResponse:
    form = StepForm(request.POST)
    if not form.is_valid():
        refused(request, form)
        return go_back(request, get_object_or_404(Make, pk=pk))
    told = form.cleaned_data["fate"]
    if request.htmx:
        make = get_object_or_404(Make, pk=pk)
        with suppress(MakeError):
            actions.set_fate(make=make, fate=told)
        make.refresh_from_db()
        return render(request, "makes/ideas/_fate.html", {"record": make, "fates": FATES})
    return _step(request, pk, lambda make: actions.set_fate(make=make, fate=told))


@require_POST
def undo(request: StudioRequest) -> HttpResponse:
    try:
        messages.success(request, actions.undo(step=unsealed(request.POST.get("step", ""))))
    except signing.BadSignature:
        messages.error(request, "This can be undone no more.")
    except MakeError as wrong:
        messages.error(request, str(wrong))
    return go_back(request, "own")


def _step(request: StudioRequest, pk: int, act: Callable[..., Step]) -> HttpResponse:
    """Take one step on a make and go back to where its button was."""
    make = get_object_or_404(Make, pk=pk)
    back = go_back(request, make).url
    try:
        return done(request, act(make=make), back)
    except MakeError as wrong:
        messages.error(request, str(wrong))
        return redirect(back)


def done(request: StudioRequest, step: Step, back: str) -> HttpResponse:
    """Go on to the page ``back``; a step that changed nothing is passed over in silence."""
    if step.changed:
        told = {"step": step, "back": reverse("own") if step.added else back}
        messages.success(request, render_to_string("makes/ideas/_done.html", told, request))
    return redirect(back)


def refused(request: StudioRequest, form) -> None:
    """Say what was wrong with a small form that has no page of its own."""
    for field in form:
        for wrong in field.errors:
            messages.error(request, f"{field.label}: {wrong}")
