"""The addresses of a ticket's papers: they tell what was agreed, paid and booked.

Tickets know what was agreed, billing what was paid and planning what was booked; here they meet.
"""

from collections.abc import Iterable, Iterator

from django.db.models import F, Q
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from jobs.billing.queries import credited, payments_until
from jobs.planning.models import Fitting
from jobs.pricing.names import unsaid
from jobs.tickets.documents import TicketPapers
from jobs.tickets.documents.layouts import BookedFitting, PaidRow, Since
from jobs.tickets.documents.papers import superseded_at
from jobs.tickets.messages import client_link
from jobs.tickets.models import Agreement, Garment, State, Ticket
from studio.shop import clock
from studio.shop.http import StudioRequest, absolute, ticked
from studio.shop.may import Tick
from studio.shop.models import Profile
from studio.shop.paper import serve_paper, show_pdf

LATEST = Q(version=F("ticket__version"))


def since(agreement: Agreement) -> Since:
    """What was paid and booked on the ticket. A version that was replaced tells only what was paid
    until then. Four queries."""
    ticket, until = agreement.ticket, superseded_at(agreement)
    entries, standing = payments_until(ticket, until)
    fittings = [] if until else _booked(agreement)
    return Since(
        payments=tuple(
            PaidRow(row.number, row.day, row.get_method_display().lower(), row.amount)
            for row in standing
        ),
        fittings=tuple(
            BookedFitting(fitting.get_kind_display(), fitting.starts_at) for fitting in fittings
        ),
        entries=tuple(row.number for row in entries),
        until=until,
        cancelled=ticket.state == State.CANCELLED and until is None,
        credited=credited(ticket, until),
    )


def _booked(agreement: Agreement) -> list[Fitting]:
    ahead = agreement.ticket.fittings.filter(state=Fitting.State.BOOKED, starts_at__gt=clock.now())
    return list(ahead)


def unsaid_on(ticket: Ticket, garments: Iterable[Garment], studio: Profile) -> list[str]:
    """What the client's papers say as the owner typed it, in another language than theirs."""

    def typed() -> Iterator[str]:
        for garment in garments:
            yield garment.kind_name
            for line in garment.lines.all():
                yield line.name
                yield from (surcharge["name"] for surcharge in line.surcharges)
                yield (line.tax or {}).get("name", "")

    said = unsaid(typed(), language=ticket.client.language, studio=studio)
    terms = unsaid([studio.terms], language=ticket.client.language, studio=studio)
    return [*said, *(["terms"] if terms else [])]


@require_safe
def papers(request: StudioRequest, number: str, printer: int = 0) -> HttpResponse:
    """What one printer prints of a drop-off, of one size; that of the claim ticket unless said.

    A printer that was taken away since the page was opened has nothing to print.
    """
    printed = _papers(request, number)
    presses = printed.presses()
    press = next((it for it in presses if it.place == printer), None if printer else presses[0])
    if press is None:
        raise Http404
    if printed.figures and "claim" in press.papers:
        return serve_paper(printed.stored_press(press))
    return show_pdf(printed.press_name(press), printed.press(press))


@require_safe
def claim(request: StudioRequest, number: str) -> HttpResponse:
    """The claim ticket with what is paid and booked now; the same file until that changes."""
    printed = _papers(request, number)
    if printed.figures:
        return serve_paper(printed.stored_claim())
    return show_pdf(printed.claim_name, printed.claim())


@ticked(Tick.PRICES)
@require_safe
def agreement_paper(request: StudioRequest, number: str, version: int) -> HttpResponse:
    """The agreement of any version, as it was agreed then and initialled, if it was."""
    return serve_paper(_papers(request, number, Q(version=version)).stored_agreement())


@ticked(Tick.PRICES)
@require_safe
def agreement_claim(request: StudioRequest, number: str, version: int) -> HttpResponse:
    """The claim ticket of any version, as it was agreed then."""
    return serve_paper(_papers(request, number, Q(version=version)).stored_claim())


@require_safe
def slip(request: StudioRequest, number: str) -> HttpResponse:
    return show_pdf(f"Slip {number}", _papers(request, number).slip())


@require_safe
def large_claim(request: StudioRequest, number: str) -> HttpResponse:
    printed = _papers(request, number)
    return show_pdf(f"Claim ticket {number} in large print", printed.large_claim())


@require_safe
def tags(request: StudioRequest, number: str) -> HttpResponse:
    return show_pdf(f"Tags {number}", _papers(request, number).tags())


@require_safe
def work_sheet(request: StudioRequest, number: str) -> HttpResponse:
    return show_pdf(f"Work sheet {number}", _papers(request, number).work_sheet())


def _papers(request: StudioRequest, number: str, version: Q = LATEST) -> TicketPapers:
    agreements = Agreement.objects.select_related("ticket__client")
    agreement = get_object_or_404(agreements, version, ticket__number=number.upper())
    address = absolute(request, agreement.ticket.get_absolute_url())
    latest = agreement.version == agreement.ticket.version
    return TicketPapers(
        agreement,
        request.studio,
        address,
        figures=request.user.may(Tick.PRICES),
        since=since(agreement),
        client_address=client_link(agreement.ticket, request.studio) if latest else "",
    )
