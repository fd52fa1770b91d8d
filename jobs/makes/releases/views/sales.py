"""Copies sold: the list, one by hand, many out of a file."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from jobs.makes.models import Release, Sale
from jobs.makes.releases import actions
from jobs.makes.releases.forms import SaleForm, SalesFileForm
from jobs.makes.releases.tables import SaleTable
from studio.shop.access import owner_only
from studio.shop.csvfile import Row, write_csv
from studio.shop.http import StudioRequest, go_back, sent
from studio.shop.paging import show_page


@owner_only
@require_http_methods(["GET", "POST"])
def sales(request: StudioRequest, pk: int) -> HttpResponse:
    release = get_object_or_404(Release, pk=pk)
    form = SaleForm(sent(request), studio=request.studio)
    if form.is_valid():
        actions.sell(release=release, **form.cleaned_data)
        return redirect("sales", pk)
    table = SaleTable(release.sales.order_by("-day", "-pk"))
    show_page(table, request)
    shown = {"release": release, "form": form, "table": table}
    return render(request, "makes/releases/sales.html", shown)


@owner_only
@require_POST
def off(request: StudioRequest, pk: int) -> HttpResponse:
    sale = get_object_or_404(Sale, pk=pk)
    actions.take_row_off(sale)
    return go_back(request, redirect("sales", sale.release_id).url)


@owner_only
@require_http_methods(["GET", "POST"])
def sales_import(request: StudioRequest, pk: int) -> HttpResponse:
    """First what the file would add, then, at a second press, the adding."""
    release = get_object_or_404(Release, pk=pk)
    form = SalesFileForm(sent(request), request.FILES, release=release, studio=request.studio)
    shown = {"release": release, "form": form}
    if form.is_valid():
        plan = form.cleaned_data["plan"]
        if "bring_in" in request.POST and not plan.problems:
            added = actions.bring_sales_in(release=release, plan=plan)
            messages.success(request, f"Brought in: {added} {'row' if added == 1 else 'rows'}.")
            return redirect("sales", pk)
        shown |= {"plan": plan, "rows": _again(form.cleaned_data["table"])}
    return render(request, "makes/releases/sales_file.html", shown)


def _again(table: list[Row]) -> str:
    """The rows as text, for the page to send back."""
    return write_csv([list(row.cells.values()) for row in table], list(table[0].cells))
