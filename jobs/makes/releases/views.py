"""What is written on a release: itself, its stages, testers, errata, costs and the copies sold."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any
from uuid import uuid4

from django import forms
from django.contrib import messages
from django.db.models import Model
from django.forms import BaseForm
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from jobs.makes.models import Cost, Erratum, Pattern, Release, Sale, Stage, Tester
from jobs.makes.releases import actions
from jobs.makes.releases.actions import ReleaseError
from jobs.makes.releases.forms import (
    BelongsForm,
    CostForm,
    ErratumForm,
    GuessesForm,
    ReleaseForm,
    ReleaseMoneyForm,
    SaleForm,
    StageForm,
    TesterForm,
)
from jobs.makes.releases.sales_file import plan_sales, read_sales
from jobs.makes.tables import SaleTable
from jobs.makes.undo import done, message_of
from studio.shop import clock
from studio.shop.files import Row
from studio.shop.http import StudioRequest, go_back, owner_only, sent
from studio.shop.imports import Import, import_page
from studio.shop.models import Entry
from studio.shop.tables import show_page
from studio.shop.together import OpenCard, edit_card

FORM = require_http_methods(["GET", "POST"])


@dataclass(frozen=True)
class Writing:
    """What stands over a form, and where its row can be taken off."""

    title: str
    back: str
    off: str = ""


def write(
    request: StudioRequest,
    form: BaseForm,
    writing: Writing,
    act: Callable[..., Entry | None],
) -> HttpResponse:
    """Show the form, or ``act`` on what it says and go back to where it belongs."""
    if request.method == "POST" and form.is_valid():
        try:
            entry = act(by=request.user, **form.cleaned_data)
        except ReleaseError as wrong:
            form.add_error(None, str(wrong))
        else:
            return done(request, entry, writing.back)
    return _form(request, form, writing)


def change(
    request: StudioRequest,
    row: Model,
    form_of: Callable[[QueryDict | None, Any], BaseForm],
    writing: Writing,
    act: Callable[..., Entry | None],
) -> HttpResponse:
    """The same with the form of a row that is there."""

    def save(card: OpenCard) -> Entry | None:
        try:
            return act(by=request.user, **card.form.cleaned_data)
        except ReleaseError as wrong:
            card.form.add_error(None, str(wrong))
            return None

    card = edit_card(request, row, form_of, save)
    if card.saved:
        return done(request, card.entry, writing.back)
    return _form(request, card.form, writing)


def _form(request: StudioRequest, form: BaseForm, writing: Writing) -> HttpResponse:
    return render(request, "makes/releases/form.html", {"form": form, "writing": writing})


@FORM
def release_new(request: StudioRequest) -> HttpResponse:
    """``pattern`` of the address is chosen already."""
    asked = request.GET.get("pattern", "")
    pattern = Pattern.objects.filter(pk=asked).first() if asked.isdecimal() else None
    initial = {"pattern": pattern.pk, "name": pattern.name} if pattern else {}
    form = ReleaseForm(sent(request), request.FILES or None, initial=initial)
    if form.is_valid():
        try:
            release, entry = actions.start_release(by=request.user, **form.cleaned_data)
        except ReleaseError as wrong:
            form.add_error(None, str(wrong))
        else:
            return done(request, entry, release.get_absolute_url())
    return _form(request, form, Writing("A new release", reverse("releases")))


@FORM
def release_edit(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    writing = Writing(release.name, release.get_absolute_url())

    def form_of(data: QueryDict | None, row: Release) -> ReleaseForm:
        return ReleaseForm(data, request.FILES if data else None, instance=row)

    act = partial(actions.change_release, release=release)
    return change(request, release, form_of, writing, act)


@owner_only
@FORM
def release_money(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)

    def form_of(data: QueryDict | None, row: Release) -> ReleaseMoneyForm:
        return ReleaseMoneyForm(data, instance=row, studio=request.studio)

    writing = Writing(f"Price and fees: {release}", release.get_absolute_url())
    act = partial(actions.price_release, release=release)
    return change(request, release, form_of, writing, act)


@require_POST
def release_published(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    act = actions.publish if _on(request) else actions.withdraw
    return _done(request, act(release=release, by=request.user), release)


@require_POST
def release_put_away(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    entry = actions.put_away(release=release, away=_on(request), by=request.user)
    return _done(request, entry, release)


def _on(request: StudioRequest) -> bool:
    return request.POST.get("on") == "1"


def _done(request: StudioRequest, entry: Entry | None, release: Release) -> HttpResponse:
    """Back to where the button was, else to the release."""
    return done(request, entry, go_back(request, release).url)


class StageMoveForm(forms.Form):
    way = forms.TypedChoiceField(choices=[("-1", "Up"), ("1", "Down")], coerce=int)
    place = forms.IntegerField(min_value=0)


@FORM
def stage_new(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    writing = Writing(f"One more stage of {release}", release.get_absolute_url())

    def add(**facts: Any) -> Entry | None:
        return actions.add_stage(release=release, **facts)[1]

    return write(request, StageForm(sent(request)), writing, add)


@FORM
def stage_edit(request: StudioRequest, pk: int) -> HttpResponse:
    stage = _stage(pk)
    back, off = stage.release.get_absolute_url(), reverse("stage-off", args=[pk])
    writing = Writing(f"{stage.name}: {stage.release}", back, off)
    act = partial(actions.change_stage, stage=stage)
    return change(request, stage, lambda data, row: StageForm(data, instance=row), writing, act)


@require_POST
def stage_move(request: StudioRequest, pk: int) -> HttpResponse:
    stage, form = _stage(pk), StageMoveForm(request.POST)
    if not form.is_valid():
        return go_back(request, stage.release)
    way, place = form.cleaned_data["way"], form.cleaned_data["place"]
    actions.move_stage(stage=stage, step=way, place=place, by=request.user)
    did = "up" if way < 0 else "down"
    return redirect(f"{stage.release.get_absolute_url()}?at={pk}&did={did}#order")


@require_POST
def guesses(request: StudioRequest, pk: int) -> HttpResponse:
    """All guesses and ticks of the table at once. What cannot be read is said, and nothing kept."""
    release = get_object_or_404(Release, pk=pk)
    form = GuessesForm(request.POST, stages=release.stages.all())
    if not form.is_valid():
        for name, wrong in form.errors.items():
            messages.error(request, f"{form.fields[name].label}: {wrong[0]}")
        return redirect(release)
    entry = actions.guess_stages(release=release, by=request.user, **form.facts())
    return _done(request, entry, release)


@require_POST
def belongs(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    form = BelongsForm(request.POST, request.FILES)
    if not form.is_valid():
        for wrong in form.errors.values():
            messages.error(request, str(wrong[0]))
        return redirect(release)
    entry = actions.add_to_release(release=release, by=request.user, **form.cleaned_data)
    return _done(request, entry, release)


@require_POST
def belongs_off(request: StudioRequest, pk: int, kind: str, row: int) -> HttpResponse:
    """A sample or a photograph does not belong to it."""
    release = get_object_or_404(Release, pk=pk)
    sample = get_object_or_404(release.samples, pk=row) if kind == "sample" else None
    picture = None if sample else get_object_or_404(release.pictures, pk=row)
    entry = actions.take_from_release(
        release=release, by=request.user, sample=sample, picture=picture
    )
    return _done(request, entry, release)


@require_POST
def stage_done(request: StudioRequest, pk: int) -> HttpResponse:
    """Tick it with ``on`` 1, take the tick off with 0."""
    stage = _stage(pk)
    entry = actions.set_done(stage=stage, done=_on(request), by=request.user)
    return _done(request, entry, stage.release)


@require_POST
def stage_off(request: StudioRequest, pk: int) -> HttpResponse:
    stage = _stage(pk)
    try:
        entry = actions.take_stage_off(stage=stage, by=request.user)
    except ReleaseError as wrong:
        messages.error(request, str(wrong))
        return go_back(request, stage.release)
    return _done(request, entry, stage.release)


def _stage(pk: int) -> Stage:
    return get_object_or_404(Stage.objects.select_related("release"), pk=pk)


@dataclass(frozen=True)
class RowKind:
    """A kind of row: its model, its form, and what stands over an empty one."""

    name: str
    model: Any
    form: Any
    title: str

    def form_of(self, request: StudioRequest, data: QueryDict | None, **given: Any) -> Any:
        if self.form is CostForm:
            given["studio"] = request.studio
        return self.form(data, **given)

    def row(self, pk: int) -> Any:
        return get_object_or_404(self.model.objects.select_related("release"), pk=pk)


TESTER = RowKind("tester", Tester, TesterForm, "A tester of {}")
ERRATUM = RowKind("erratum", Erratum, ErratumForm, "Something wrong in {}")
COST = RowKind("cost", Cost, CostForm, "Money spent on {}")


@FORM
def row_new(request: StudioRequest, pk: int, kind: RowKind) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    writing = Writing(kind.title.format(release), release.get_absolute_url())

    def add(**facts: Any) -> Entry | None:
        entry: Entry | None = actions.write_row(kind.model, release=release, **facts)[1]
        return entry

    return write(request, kind.form_of(request, sent(request)), writing, add)


@FORM
def row_edit(request: StudioRequest, pk: int, kind: RowKind) -> HttpResponse:
    row = kind.row(pk)
    back, off = row.release.get_absolute_url(), reverse(f"{kind.name}-off", args=[pk])

    def form_of(data: QueryDict | None, row: Any) -> BaseForm:
        form: BaseForm = kind.form_of(request, data, instance=row)
        return form

    writing = Writing(str(row), back, off)
    return change(request, row, form_of, writing, partial(actions.change_row, row))


@require_POST
def row_off(request: StudioRequest, pk: int, kind: RowKind) -> HttpResponse:
    row = kind.row(pk)
    return _done(request, actions.take_row_off(row, by=request.user), row.release)


@require_POST
def erratum_mended(request: StudioRequest, pk: int) -> HttpResponse:
    """Put right today with ``on`` 1; not after all with 0."""
    row = ERRATUM.row(pk)
    day = (row.mended_on or clock.today()) if _on(request) else None
    return _done(request, actions.change_row(row, by=request.user, mended_on=day), row.release)


@owner_only
@require_http_methods(["GET", "POST"])
def sales(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    form = SaleForm(sent(request), studio=request.studio)
    saved: Sale | None = None
    if form.is_valid():
        try:
            entry = _sell(request, release, form.cleaned_data)
        except actions.SoldAlreadyError as before:
            saved = before.sale
        else:
            return done(request, entry, reverse("sales", args=[pk]))
    table = SaleTable(release.sales.order_by("-day", "-pk"), studio=request.studio)
    show_page(table, request)
    shown = {"release": release, "form": form, "table": table, "saved": saved}
    if saved:
        shown["differs"] = [
            field.label
            for field in form
            if not field.is_hidden and getattr(saved, field.name) != form.cleaned_data[field.name]
        ]
    return render(request, "makes/releases/sales.html", shown)


def _sell(request: StudioRequest, release: Release, facts: dict[str, Any]) -> Entry | None:
    """A sale; or what a form that was saved before is to become now. Raises SoldAlreadyError."""
    intent, form_key = request.POST.get("intent", ""), facts["form_key"]
    if intent == "change" and (made := actions.sale_of(release, form_key)):
        changed = {name: value for name, value in facts.items() if name != "form_key"}
        return actions.change_row(made, by=request.user, **changed)
    if intent == "another":
        facts = facts | {"form_key": uuid4()}
    return actions.sell(release=release, by=request.user, **facts)[1]


@owner_only
@require_POST
def sale_off(request: StudioRequest, pk: int) -> HttpResponse:
    sale = get_object_or_404(Sale, pk=pk)
    entry = actions.take_row_off(sale, by=request.user)
    return done(request, entry, go_back(request, reverse("sales", args=[sale.release_id])).url)


@owner_only
@require_http_methods(["GET", "POST"])
def sales_import(request: StudioRequest, pk: int) -> HttpResponse:
    release, studio = get_object_or_404(Release, pk=pk), request.studio
    every = reverse("sales", args=[pk])

    def take(rows: list[Row]) -> str:
        entry = actions.import_sales(release=release, rows=rows, studio=studio, by=request.user)
        return message_of(request, entry, back=every) if entry else "All of it is here already."

    return import_page(
        request,
        Import(
            owner=f"sales of {pk}",
            page="makes/releases/sales_file.html",
            preview="makes/releases/sales_file.html",
            done=every,
            read=lambda text: read_sales(text, studio),
            compare=lambda rows: {"plan": plan_sales(rows, release, studio)},
            take=take,
            label="The CSV file",
            whole=True,
            context={"release": release},
        ),
    )
