"""The stages of a release."""

from django import forms
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from jobs.makes.models import Release, Stage
from jobs.makes.releases import actions
from jobs.makes.releases.forms import StageForm
from jobs.makes.releases.views.page import Writing, attempt, write
from studio.shop.http import StudioRequest, go_back, sent


class MoveForm(forms.Form):
    way = forms.TypedChoiceField(choices=[("-1", "Up"), ("1", "Down")], coerce=int)
    place = forms.IntegerField(min_value=0)


@require_http_methods(["GET", "POST"])
def new(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    writing = Writing(f"One more stage of {release}", release.get_absolute_url())
    form = StageForm(sent(request))
    return write(request, form, writing, lambda told: actions.add_stage(release=release, **told))


@require_http_methods(["GET", "POST"])
def edit(request: StudioRequest, pk: int) -> HttpResponse:
    stage = _stage(pk)
    writing = Writing(
        f"{stage.name}: {stage.release}",
        stage.release.get_absolute_url(),
        off=reverse("stage-off", args=[pk]),
    )
    form = StageForm(sent(request), instance=stage)
    return write(request, form, writing, lambda told: actions.change_stage(stage=stage, **told))


@require_POST
def move(request: StudioRequest, pk: int) -> HttpResponse:
    stage, form = _stage(pk), MoveForm(request.POST)
    if form.is_valid():
        told = form.cleaned_data
        actions.move_stage(stage=stage, step=told["way"], place=told["place"])
        did = "up" if told["way"] < 0 else "down"
        return redirect(f"{stage.release.get_absolute_url()}?at={pk}&did={did}#order")
    return go_back(request, stage.release)


@require_POST
def done(request: StudioRequest, pk: int) -> HttpResponse:
    """Tick it with ``on`` 1, take the tick off with 0."""
    stage = _stage(pk)
    actions.set_done(stage=stage, done=request.POST.get("on") == "1")
    return go_back(request, stage.release)


@require_POST
def off(request: StudioRequest, pk: int) -> HttpResponse:
    stage = _stage(pk)
    attempt(request, lambda: actions.take_stage_off(stage=stage), f"Taken off: {stage.name}")
    return go_back(request, stage.release)


def _stage(pk: int) -> Stage:
    return get_object_or_404(Stage.objects.select_related("release"), pk=pk)
