"""The owner's own ranges of measures."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from clients.sheets import actions
from clients.sheets.queries import own_ranges
from clients.sheets.range_form import RangesForm
from studio.shop.access import owner_only
from studio.shop.http import StudioRequest, sent


@owner_only
@require_http_methods(["GET", "HEAD", "POST"])
def measure_ranges(request: StudioRequest) -> HttpResponse:
    form = RangesForm(sent(request), studio=request.studio, own=own_ranges())
    if form.is_valid():
        actions.set_ranges(ranges=form.ranges())
        messages.success(request, "Saved. Sheets ask by these ranges from now on.")
        return redirect("measure-ranges")
    return render(request, "clients/sheets/ranges.html", {"form": form})
