"""Looking at measures: all sheets of a client, and one sheet."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from clients.fields import unit_of
from clients.fit.changes import is_old
from clients.fit.checks import doubts
from clients.queries import entry_of_its_own
from clients.sheets.actions import may_correct
from clients.sheets.forms import DayForm
from clients.sheets.queries import last_before, own_ranges, sheet_at, sheets_of, taking_of
from clients.sheets.showing import course_rows, last_fitting_from, sizes_of, value_rows
from studio.shop import clock
from studio.shop.http import StudioRequest


@require_GET
def sheets(request: StudioRequest, pk: int) -> HttpResponse:
    client = entry_of_its_own(pk)
    if client.pk != pk:
        return redirect("sheets", client.pk)
    form = DayForm(request.GET if "day" in request.GET else None)
    day = form.cleaned_data["day"] if form.is_valid() else None
    found = sheets_of(client)
    takings = [taking_of(sheet) for sheet in found]
    context = {
        "client": client,
        "sheets": found[::-1],
        "old": bool(found) and is_old(found[-1].taken_on, clock.today()),
        "rows": list(course_rows(takings, unit_of(request.studio), request.studio.locale, day)),
        "unit": unit_of(request.studio),
        "form": form,
        "day": day,
        "fitting_from": last_fitting_from(day) if day else None,
    }
    return render(request, "clients/sheets/sheets.html", context)


@require_GET
def sheet(request: StudioRequest, pk: int) -> HttpResponse:
    found = sheet_at(pk)
    unit = unit_of(request.studio)
    taking = taking_of(found)
    before = last_before(found.client, found.taken_on)
    compared = taking_of(before) if before else None
    context = {
        "sheet": found,
        "client": found.client,
        "before": before,
        "rows": value_rows(taking, compared, unit),
        "doubts": doubts(taking, unit=unit, ranges=own_ranges(), before=compared),
        "sizes": sizes_of(taking, unit),
        "unit": unit,
        "may_correct": may_correct(found),
        "old": is_old(found.taken_on, clock.today()),
    }
    return render(request, "clients/sheets/sheet.html", context)
