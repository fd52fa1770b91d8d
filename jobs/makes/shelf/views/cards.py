"""Swatch cards on the paper that was asked for."""

from django.http import HttpResponse
from django.views.decorators.http import require_GET

from jobs.makes.shelf import queries
from jobs.makes.shelf.documents import CARDS, swatch_cards, title
from studio.shop.http import StudioRequest
from studio.shop.paper_store import show


@require_GET
def card(request: StudioRequest, pk: int) -> HttpResponse:
    """``paper`` is one of ``CARDS``, else A6. On A4 and Letter the newest others fill the page."""
    page = request.GET.get("paper", "")
    page = page if page in CARDS else "A6"
    cloths = queries.card_and_newest(queries.cloth_or_404(pk), CARDS[page])
    return show(title(cloths), swatch_cards(cloths, request.studio, page=page))
