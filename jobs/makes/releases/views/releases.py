"""A release as a whole: begun, written on, published, put away."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from jobs.makes.models import Release
from jobs.makes.pictures import keep
from jobs.makes.releases import actions
from jobs.makes.releases.forms import ReleaseForm, ReleaseMoneyForm
from jobs.makes.releases.views.page import Writing, write
from studio.shop.access import owner_only
from studio.shop.http import StudioRequest, go_back, sent

FORM = require_http_methods(["GET", "POST"])


@FORM
def new(request: StudioRequest) -> HttpResponse:
    form = ReleaseForm(sent(request), request.FILES or None)
    writing = Writing("A new release", reverse("releases"))
    return write(request, form, writing, lambda told: actions.start_release(**_with_picture(told)))


@FORM
def edit(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    writing = Writing(release.name, release.get_absolute_url())
    form = ReleaseForm(sent(request), request.FILES or None, instance=release)
    return write(
        request,
        form,
        writing,
        lambda told: actions.change_release(release=release, **_with_picture(told)),
    )


@owner_only
@FORM
def money(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    form = ReleaseMoneyForm(sent(request), instance=release, studio=request.studio)
    return write(
        request,
        form,
        Writing(f"Price and fees: {release}", release.get_absolute_url()),
        lambda told: actions.change_release(release=release, **told),
    )


@require_POST
def published(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    act = actions.publish if _on(request) else actions.withdraw
    act(release=release)
    return go_back(request, release)


@require_POST
def put_away(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    actions.put_away(release=release, away=_on(request))
    return go_back(request, release)


def _on(request: StudioRequest) -> bool:
    return request.POST.get("on") == "1"


def _with_picture(told: dict[str, Any]) -> dict[str, Any]:
    """The fields of a release; a photograph that came along is kept and takes its place."""
    photo = told.pop("photo")
    return told | ({"picture": keep(photo)} if photo else {})
