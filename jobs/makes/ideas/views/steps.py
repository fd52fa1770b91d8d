"""The small buttons on a card: from state to state, up and down, heat, fate, and undo."""

from collections.abc import Callable
from contextlib import suppress

from django.contrib import messages
from django.core import signing
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.makes.ideas import actions
from jobs.makes.ideas.errors import MakeError
from jobs.makes.ideas.forms import StepForm
from jobs.makes.ideas.steps import Step, unsealed
from jobs.makes.ideas.tables import FATES
from jobs.makes.ideas.views.telling import done, refused
from jobs.makes.models import Make
from studio.shop.http import StudioRequest, go_back

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
