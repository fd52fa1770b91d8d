"""The measurement card as PDF, and the page on how each measure is taken."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from clients.fit.measures import MEASURES
from clients.sheets.documents import SIZES, measurement_card
from clients.sheets.figure import figures
from clients.sheets.queries import sheet_at
from studio.shop.http import StudioRequest
from studio.shop.paper_store import show


@require_safe
def sheet_card(request: StudioRequest, pk: int, size: str) -> HttpResponse:
    """The card on ``size``, a name in ``SIZES`` in small letters."""
    page = next((page for page in SIZES if page.lower() == size), None)
    if page is None:
        raise Http404
    found = sheet_at(pk)
    pdf = measurement_card(found, studio=request.studio, page=page)
    return show(f"Measurement card {found.client.name} {found.taken_on}", pdf)


@require_safe
def how_to_measure(request: StudioRequest) -> HttpResponse:
    context = {"measures": MEASURES.values(), "figures": figures()}
    return render(request, "clients/sheets/how_to_measure.html", context)
