"""The journal of a year, on the paper that was asked for."""

from django.http import HttpResponse
from django.views.decorators.http import require_GET

from jobs.counter.journal.documents import SIDES, journal_pdf, title
from jobs.counter.journal.queries import read_journal
from jobs.counter.year.views import known_year
from studio.shop.http import StudioRequest
from studio.shop.paper_store import show


@require_GET
def journal(request: StudioRequest, year: int) -> HttpResponse:
    """``paper`` is A5, A4 or Letter; anything else is the A5 of a booklet."""
    read = read_journal(known_year(year))
    page = request.GET.get("paper", "")
    pdf = journal_pdf(read, request.studio, page=page if page in SIDES else "A5")
    return show(title(request.studio, year), pdf)
