"""All cautions on one page, with two questions to the published rules."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from clients.cautions import SAFETY
from jobs.tickets.caution_forms import CordForm, InfantForm
from studio.shop.http import StudioRequest


@require_safe
def cautions(request: StudioRequest) -> HttpResponse:
    asked = request.GET.get("ask")
    cord = CordForm(request.GET if asked == "cord" else None, studio=request.studio)
    infant = InfantForm(request.GET if asked == "infant" else None, studio=request.studio)
    return render(
        request,
        "tickets/cautions.html",
        {
            "cautions": SAFETY.values(),
            "cord": cord,
            "infant": infant,
            "cord_answers": cord.answers() if cord.is_valid() else [],
            "infant_asked": infant.is_valid(),
            "infant_exempt": infant.is_valid() and infant.exempt(),
        },
    )
