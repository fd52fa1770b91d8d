"""Testers, errata and costs: each kind of row is written, changed and taken off alike."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from jobs.makes.models import Cost, Erratum, Release, Tester
from jobs.makes.releases import actions
from jobs.makes.releases.forms import CostForm, ErratumForm, TesterForm
from jobs.makes.releases.views.page import Writing, write
from studio.shop import clock
from studio.shop.http import StudioRequest, go_back, sent


@dataclass(frozen=True)
class Kind:
    """A kind of row: its model, its form, and what stands over an empty one."""

    name: str
    model: Any
    form: Any
    title: str

    def form_of(self, request: StudioRequest, **told: Any) -> Any:
        if self.form is CostForm:
            told["studio"] = request.studio
        return self.form(sent(request), **told)


TESTER = Kind("tester", Tester, TesterForm, "A tester of {}")
ERRATUM = Kind("erratum", Erratum, ErratumForm, "Something wrong in {}")
COST = Kind("cost", Cost, CostForm, "Money spent on {}")


@require_http_methods(["GET", "POST"])
def new(request: StudioRequest, pk: int, kind: Kind) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    writing = Writing(kind.title.format(release), release.get_absolute_url())
    return write(
        request,
        kind.form_of(request),
        writing,
        lambda told: actions.write_row(kind.model, release=release, **told),
    )


@require_http_methods(["GET", "POST"])
def edit(request: StudioRequest, pk: int, kind: Kind) -> HttpResponse:
    row = _row(pk, kind)
    writing = Writing(
        str(row), row.release.get_absolute_url(), off=reverse(f"{kind.name}-off", args=[pk])
    )
    form = kind.form_of(request, instance=row)
    return write(request, form, writing, lambda told: actions.change_row(row, **told))


@require_POST
def off(request: StudioRequest, pk: int, kind: Kind) -> HttpResponse:
    row = _row(pk, kind)
    actions.take_row_off(row)
    return go_back(request, row.release)


@require_POST
def mended(request: StudioRequest, pk: int) -> HttpResponse:
    """Put right today with ``on`` 1; not after all with 0."""
    row = _row(pk, ERRATUM)
    day = (row.mended_on or clock.today()) if request.POST.get("on") == "1" else None
    actions.change_row(row, mended_on=day)
    return go_back(request, row.release)


def _row(pk: int, kind: Kind) -> Any:
    return get_object_or_404(kind.model.objects.select_related("release"), pk=pk)
