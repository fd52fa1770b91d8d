"""What fits. It suggests, and puts nothing on any day."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.planning.fitting_in.sheet import fitting_sheet
from studio.shop.http import StudioRequest


@require_GET
def what_fits(request: StudioRequest) -> HttpResponse:
    return render(
        request, "planning/fitting_in/what_fits.html", {"sheet": fitting_sheet(request.studio)}
    )
