"""The price list as CSV files, out and in."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from jobs.pricing.csv_rows import (
    OPERATION_HEADINGS,
    SURCHARGE_HEADINGS,
    operation_cells,
    surcharge_cells,
)
from jobs.pricing.forms import ListFileForm
from jobs.pricing.importing import bring_in
from jobs.pricing.models import Operation, Surcharge
from studio.shop.files import Row, csv_response, write_csv
from studio.shop.http import StudioRequest, owner_only


@owner_only
@require_safe
def prices_csv(request: StudioRequest) -> HttpResponse:
    listed = Operation.objects.select_related("garment_kind")
    rows = [operation_cells(operation, request.studio.currency) for operation in listed]
    return csv_response(rows, OPERATION_HEADINGS, "prices.csv")


@owner_only
@require_safe
def surcharges_csv(request: StudioRequest) -> HttpResponse:
    listed = Surcharge.objects.all()
    rows = [surcharge_cells(surcharge, request.studio.currency) for surcharge in listed]
    return csv_response(rows, SURCHARGE_HEADINGS, "surcharges.csv")


@owner_only
def import_list(request: StudioRequest) -> HttpResponse:
    """First what the file would do, then, at a second press, the doing."""
    if request.method != "POST":
        return render(request, "pricing/import.html", {"form": ListFileForm(studio=request.studio)})
    form = ListFileForm(request.POST, request.FILES, studio=request.studio)
    if not form.is_valid():
        return render(request, "pricing/import.html", {"form": form})
    plan = form.cleaned_data["plan"]
    if "bring_in" in request.POST and not plan.problems:
        bring_in(plan=plan)
        messages.success(request, f"{len(plan.new)} new, {len(plan.changed)} changed.")
        return redirect("prices")
    shown = {"form": form, "plan": plan, "rows": _again(form.cleaned_data["table"])}
    return render(request, "pricing/import.html", shown)


def _again(table: list[Row]) -> str:
    """The rows as text, for the page to send back."""
    return write_csv([list(row.cells.values()) for row in table], list(table[0].cells))
