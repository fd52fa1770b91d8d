"""Taking a sheet and correcting it: what looks odd is asked about once, and kept all the same."""

from datetime import date
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from clients.actions import GoneError
from clients.fields import unit_of
from clients.fit.checks import Doubt, doubts
from clients.models import Client, Sheet
from clients.queries import entry_of_its_own
from clients.sheets import actions
from clients.sheets.forms import SheetForm, starting_values, values_of
from clients.sheets.queries import last_before, own_ranges, sheet_at, taking_of
from clients.sheets.rows import SheetRows
from studio.shop import clock
from studio.shop.http import StudioRequest, sent


@require_http_methods(["GET", "HEAD", "POST"])
def sheet_new(request: StudioRequest, pk: int) -> HttpResponse:
    client = entry_of_its_own(pk)
    if client.pk != pk:
        return redirect("sheet-new", client.pk)
    start = starting_values(last_before(client, clock.today())) | {"form_key": uuid4()}
    form = SheetForm(sent(request), studio=request.studio, initial=start)
    asked: list[Doubt] = []
    if form.is_valid():
        asked = _unseen(request, client, form)
        if not asked and (made := _take(request, client, form)):
            messages.success(request, "The sheet is kept.")
            return redirect("sheet", made.pk)
    return _page(request, client, form, asked)


@require_http_methods(["GET", "HEAD", "POST"])
def sheet_correct(request: StudioRequest, pk: int) -> HttpResponse:
    found = sheet_at(pk)
    if not actions.may_correct(found):
        messages.error(request, "A sheet is corrected on its own day only. Take a new one.")
        return redirect("sheet", found.pk)
    start = values_of(found, taking_of(found))
    form = SheetForm(sent(request), studio=request.studio, initial=start)
    asked: list[Doubt] = []
    if form.is_valid():
        asked = _unseen(request, found.client, form)
        if not asked and _correct(request, found, form):
            messages.success(request, "The sheet is corrected.")
            return redirect("sheet", found.pk)
    return _page(request, found.client, form, asked, sheet=found)


def _unseen(request: StudioRequest, client: Client, form: SheetForm) -> list[Doubt]:
    """Every doubt, if one of them has not been shown yet."""
    taking = form.taking()
    before = last_before(client, taking.day)
    found = doubts(
        taking,
        unit=unit_of(request.studio),
        ranges=own_ranges(),
        before=taking_of(before) if before else None,
    )
    seen = set(request.POST.getlist("seen"))
    return found if any(doubt.says not in seen for doubt in found) else []


def _take(request: StudioRequest, client: Client, form: SheetForm) -> Sheet | None:
    try:
        return actions.take_sheet(
            client=client,
            by=request.user,
            facts=form.facts(),
            lengths=form.lengths(),
            form_key=form.cleaned_data["form_key"],
        )
    except (GoneError, actions.SheetError) as error:
        form.add_error(None, str(error))
        return None


def _correct(request: StudioRequest, sheet: Sheet, form: SheetForm) -> Sheet | None:
    try:
        return actions.correct_sheet(sheet=sheet, facts=form.facts(), lengths=form.lengths())
    except (GoneError, actions.SheetError) as error:
        form.add_error(None, str(error))
        return None


def _page(
    request: StudioRequest, client: Client, form: SheetForm, asked: list[Doubt], **more: Any
) -> HttpResponse:
    before = last_before(client, _day(form))
    context = {
        "client": client,
        "form": form,
        "doubts": asked,
        "before": before,
        "unit": unit_of(request.studio),
        "rows": SheetRows(form, taking_of(before) if before else None),
        **more,
    }
    return render(request, "clients/sheets/form.html", context)


def _day(form: SheetForm) -> date:
    """The day of the sheet as far as it is known."""
    told = getattr(form, "cleaned_data", form.initial)
    return told.get("taken_on") or form.initial["taken_on"]
