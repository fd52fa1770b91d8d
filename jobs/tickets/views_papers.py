"""The papers of a ticket as PDF.

A helper sees no money: tags and work sheet are for everybody, the claim ticket comes without
prices, and what was agreed before is the owner's.
"""

from django.db.models import F, Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from jobs.tickets.documents import TicketPapers
from jobs.tickets.models import Agreement
from studio.shop.http import StudioRequest, absolute, owner_only
from studio.shop.paper import serve_paper, show_pdf

LATEST = Q(version=F("ticket__version"))


@require_safe
def papers(request: StudioRequest, number: str) -> HttpResponse:
    """Claim ticket and tags from one press."""
    found = _papers(request, number)
    if found.figures:
        return serve_paper(found.stored_press())
    return show_pdf(found.press_name, found.press())


@require_safe
def claim(request: StudioRequest, number: str) -> HttpResponse:
    found = _papers(request, number)
    if found.figures:
        return serve_paper(found.stored_claim())
    return show_pdf(found.claim_name, found.claim())


@owner_only
@require_safe
def agreement_paper(request: StudioRequest, number: str, version: int) -> HttpResponse:
    """The agreement of any version, as it was agreed then and initialled, if it was."""
    return serve_paper(_papers(request, number, Q(version=version)).stored_agreement())


@owner_only
@require_safe
def agreement_claim(request: StudioRequest, number: str, version: int) -> HttpResponse:
    """The claim ticket of any version, as it was agreed then."""
    return serve_paper(_papers(request, number, Q(version=version)).stored_claim())


@require_safe
def slip(request: StudioRequest, number: str) -> HttpResponse:
    return show_pdf(f"Slip {number}", _papers(request, number).slip())


@require_safe
def tags(request: StudioRequest, number: str) -> HttpResponse:
    return show_pdf(f"Tags {number}", _papers(request, number).tags())


@require_safe
def work_sheet(request: StudioRequest, number: str) -> HttpResponse:
    return show_pdf(f"Work sheet {number}", _papers(request, number).work_sheet())


def _papers(request: StudioRequest, number: str, version: Q = LATEST) -> TicketPapers:
    agreements = Agreement.objects.select_related("ticket", "paper", "press")
    agreement = get_object_or_404(agreements, version, ticket__number=number.upper())
    address = absolute(request, agreement.ticket.get_absolute_url())
    return TicketPapers(agreement, request.studio, address, figures=request.user.is_owner)
