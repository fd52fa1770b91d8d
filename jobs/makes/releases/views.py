"""What is written on a release: itself, its stages, testers, errata, costs and the copies sold."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from jobs.makes.models import Cost, Erratum, Release, Sale, Stage, Tester
from jobs.makes.pictures import keep
from jobs.makes.releases import actions
from jobs.makes.releases.actions import ReleaseError
from jobs.makes.releases.forms import (
    CostForm,
    ErratumForm,
    ReleaseForm,
    ReleaseMoneyForm,
    SaleForm,
    StageForm,
    TesterForm,
)
from jobs.makes.releases.sales_file import plan_sales, read_sales
from jobs.makes.tables import SaleTable
from studio.shop import clock
from studio.shop.files import Row
from studio.shop.http import StudioRequest, go_back, owner_only, sent
from studio.shop.imports import Import, import_page
from studio.shop.tables import show_page


@dataclass(frozen=True)
class Writing:
    """What stands over the form, and where its row can be taken off."""

    title: str
    back: str
    off: str = ""


def write(
    request: StudioRequest, form: BaseForm, writing: Writing, act: Callable[[dict[str, Any]], Any]
) -> HttpResponse:
    """Show the form, or ``act`` on what it says and go back to where it belongs."""
    if request.method == "POST" and form.is_valid():
        try:
            done = act(form.cleaned_data)
        except ReleaseError as wrong:
            form.add_error(None, str(wrong))
        else:
            return redirect(done if isinstance(done, Release) else writing.back)
    return render(request, "makes/releases/form.html", {"form": form, "writing": writing})


def attempt(request: StudioRequest, act: Callable[[], Any], success: str = "") -> bool:
    """Take a step; what cannot be done is said on the next page."""
    try:
        act()
    except ReleaseError as wrong:
        messages.error(request, str(wrong))
        return False
    if success:
        messages.success(request, success)
    return True


FORM = require_http_methods(["GET", "POST"])


@FORM
def release_new(request: StudioRequest) -> HttpResponse:
    form = ReleaseForm(sent(request), request.FILES or None)
    writing = Writing("A new release", reverse("releases"))
    return write(
        request, form, writing, lambda facts: actions.start_release(**_with_picture(facts))
    )


@FORM
def release_edit(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    writing = Writing(release.name, release.get_absolute_url())
    form = ReleaseForm(sent(request), request.FILES or None, instance=release)
    return write(
        request,
        form,
        writing,
        lambda facts: actions.change_release(release=release, **_with_picture(facts)),
    )


@owner_only
@FORM
def release_money(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    form = ReleaseMoneyForm(sent(request), instance=release, studio=request.studio)
    return write(
        request,
        form,
        Writing(f"Price and fees: {release}", release.get_absolute_url()),
        lambda facts: actions.change_release(release=release, **facts),
    )


@require_POST
def release_published(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    act = actions.publish if _on(request) else actions.withdraw
    act(release=release)
    return go_back(request, release)


@require_POST
def release_put_away(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    actions.put_away(release=release, away=_on(request))
    return go_back(request, release)


def _on(request: StudioRequest) -> bool:
    return request.POST.get("on") == "1"


def _with_picture(facts: dict[str, Any]) -> dict[str, Any]:
    """The fields of a release; a photograph that came along is kept and takes its place."""
    photo = facts.pop("photo")
    return facts | ({"picture": keep(photo)} if photo else {})


class StageMoveForm(forms.Form):
    way = forms.TypedChoiceField(choices=[("-1", "Up"), ("1", "Down")], coerce=int)
    place = forms.IntegerField(min_value=0)


@require_http_methods(["GET", "POST"])
def stage_new(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    writing = Writing(f"One more stage of {release}", release.get_absolute_url())
    form = StageForm(sent(request))
    return write(request, form, writing, lambda facts: actions.add_stage(release=release, **facts))


@require_http_methods(["GET", "POST"])
def stage_edit(request: StudioRequest, pk: int) -> HttpResponse:
    stage = _stage(pk)
    writing = Writing(
        f"{stage.name}: {stage.release}",
        stage.release.get_absolute_url(),
        off=reverse("stage-off", args=[pk]),
    )
    form = StageForm(sent(request), instance=stage)
    return write(request, form, writing, lambda facts: actions.change_stage(stage=stage, **facts))


@require_POST
def stage_move(request: StudioRequest, pk: int) -> HttpResponse:
    stage, form = _stage(pk), StageMoveForm(request.POST)
    if form.is_valid():
        sent_to = form.cleaned_data
        actions.move_stage(stage=stage, step=sent_to["way"], place=sent_to["place"])
        did = "up" if sent_to["way"] < 0 else "down"
        return redirect(f"{stage.release.get_absolute_url()}?at={pk}&did={did}#order")
    return go_back(request, stage.release)


@require_POST
def stage_done(request: StudioRequest, pk: int) -> HttpResponse:
    """Tick it with ``on`` 1, take the tick off with 0."""
    stage = _stage(pk)
    actions.set_done(stage=stage, done=request.POST.get("on") == "1")
    return go_back(request, stage.release)


@require_POST
def stage_off(request: StudioRequest, pk: int) -> HttpResponse:
    stage = _stage(pk)
    attempt(request, lambda: actions.take_stage_off(stage=stage), f"Taken off: {stage.name}")
    return go_back(request, stage.release)


def _stage(pk: int) -> Stage:
    return get_object_or_404(Stage.objects.select_related("release"), pk=pk)


@dataclass(frozen=True)
class Kind:
    """A kind of row: its model, its form, and what stands over an empty one."""

    name: str
    model: Any
    form: Any
    title: str

    def form_of(self, request: StudioRequest, **given: Any) -> Any:
        if self.form is CostForm:
            given["studio"] = request.studio
        return self.form(sent(request), **given)


TESTER = Kind("tester", Tester, TesterForm, "A tester of {}")
ERRATUM = Kind("erratum", Erratum, ErratumForm, "Something wrong in {}")
COST = Kind("cost", Cost, CostForm, "Money spent on {}")


@require_http_methods(["GET", "POST"])
def row_new(request: StudioRequest, pk: int, kind: Kind) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    writing = Writing(kind.title.format(release), release.get_absolute_url())
    return write(
        request,
        kind.form_of(request),
        writing,
        lambda facts: actions.write_row(kind.model, release=release, **facts),
    )


@require_http_methods(["GET", "POST"])
def row_edit(request: StudioRequest, pk: int, kind: Kind) -> HttpResponse:
    row = _row(pk, kind)
    writing = Writing(
        str(row), row.release.get_absolute_url(), off=reverse(f"{kind.name}-off", args=[pk])
    )
    form = kind.form_of(request, instance=row)
    return write(request, form, writing, lambda facts: actions.change_row(row, **facts))


@require_POST
def row_off(request: StudioRequest, pk: int, kind: Kind) -> HttpResponse:
    row = _row(pk, kind)
    actions.take_row_off(row)
    return go_back(request, row.release)


@require_POST
def erratum_mended(request: StudioRequest, pk: int) -> HttpResponse:
    """Put right today with ``on`` 1; not after all with 0."""
    row = _row(pk, ERRATUM)
    day = (row.mended_on or clock.today()) if request.POST.get("on") == "1" else None
    actions.change_row(row, mended_on=day)
    return go_back(request, row.release)


def _row(pk: int, kind: Kind) -> Any:
    return get_object_or_404(kind.model.objects.select_related("release"), pk=pk)


@owner_only
@require_http_methods(["GET", "POST"])
def sales(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    form = SaleForm(sent(request), studio=request.studio)
    if form.is_valid():
        actions.sell(release=release, **form.cleaned_data)
        return redirect("sales", pk)
    table = SaleTable(release.sales.order_by("-day", "-pk"), studio=request.studio)
    show_page(table, request)
    shown = {"release": release, "form": form, "table": table}
    return render(request, "makes/releases/sales.html", shown)


@owner_only
@require_POST
def sale_off(request: StudioRequest, pk: int) -> HttpResponse:
    sale = get_object_or_404(Sale, pk=pk)
    actions.take_row_off(sale)
    return go_back(request, redirect("sales", sale.release_id).url)


@owner_only
@require_http_methods(["GET", "POST"])
def sales_import(request: StudioRequest, pk: int) -> HttpResponse:
    release, studio = get_object_or_404(Release, pk=pk), request.studio

    def take(rows: list[Row]) -> str:
        added = actions.import_sales(release=release, rows=rows, studio=studio)
        return f"Brought in: {added} {'row' if added == 1 else 'rows'}."

    return import_page(
        request,
        Import(
            owner=f"sales of {pk}",
            page="makes/releases/sales_file.html",
            preview="makes/releases/sales_file.html",
            done=reverse("sales", args=[pk]),
            read=lambda text: read_sales(text, studio),
            compare=lambda rows: {"plan": plan_sales(rows, release, studio)},
            take=take,
            label="The CSV file",
            whole=True,
            context={"release": release},
        ),
    )
