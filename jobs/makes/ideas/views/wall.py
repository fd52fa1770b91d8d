"""The wall of ideas, and how a new one gets there."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.ideas import actions, queries
from jobs.makes.ideas.forms import HEATS, IdeaForm, QuickForm
from jobs.makes.ideas.tables import LetGoTable, MadeTable
from jobs.makes.ideas.views.telling import done
from jobs.makes.models import Make, Picture, State
from jobs.makes.pictures import keep
from studio.shop.http import StudioRequest
from studio.shop.paging import show_page


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
        queries.put_away(state=state, wanted=wanted)
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
