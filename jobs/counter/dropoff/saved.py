"""The slip after Save: what was promised, and what is still done at the counter."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_http_methods

from jobs.billing.actions import BillingError, record_payment
from jobs.billing.forms import PaymentForm
from jobs.billing.queries import paid, usual_kind
from jobs.counter.dropoff.desk import day_given
from jobs.planning.models import STANDS
from jobs.tickets.documents.papers import presses
from jobs.tickets.messages import about_promise
from jobs.tickets.models import AgreementSheet, Ticket
from jobs.tickets.queries import open_numbers, ticket_or_404
from studio.shop.http import StudioRequest


@require_http_methods(["GET", "POST"])
def ticket_saved(request: StudioRequest, number: str) -> HttpResponse:
    """Promise and price large, then the next things; what is done is said as a fact.

    A deposit is taken here too. ``fitting`` of the address is the day by which the fitting is due.
    """
    ticket, owner = ticket_or_404(number), request.user.is_owner
    form = PaymentForm(request.POST or None, studio=request.studio) if owner else None
    if form and form.is_valid() and _taken(request, ticket, form):
        return redirect(request.get_full_path())
    fittings = [row for row in ticket.fittings.order_by("starts_at") if row.state in STANDS]
    lines = [line for garment in ticket.garments.all() for line in garment.lines.all()]
    message = about_promise(ticket, request.studio, figures=owner)
    amount = paid(ticket) if owner else 0
    sheets = AgreementSheet.objects.filter(
        agreement__ticket=ticket, agreement__version=ticket.version, paper__isnull=False
    )
    issued = dict(sheets.values_list("paper__name", "paper__stored_at"))
    runs = presses(request.studio, len(ticket.garments.all()))
    context = {
        "next_on_pad": open_numbers()[:1] if request.GET.get("pad") else [],
        "ticket": ticket,
        "form": form,
        "paid": amount,
        "to_pay": ticket.gross - amount,
        "fitting": fittings[0] if fittings else None,
        "wants_fitting": any(line.fitting_first for line in lines),
        "fitting_by": parse_date(day_given(request.GET.get("fitting", ""))),
        "unmeasured": [line for line in lines if line.to_measure],
        "presses": [
            (run, issued.get(f"{run.words} {ticket.number} version {ticket.version}"))
            for run in runs
        ],
        "printed": bool(issued),
        "way": next((way for way in message.links if not way.href.startswith("tel:")), None),
    }
    return render(request, "counter/saved.html", context)


def _taken(request: StudioRequest, ticket: Ticket, form: PaymentForm) -> bool:
    """Whether the payment was booked; if not, the form says what is wrong."""
    facts = form.cleaned_data
    kind = usual_kind(ticket, facts["amount"])
    try:
        record_payment(ticket=ticket, by=request.user, studio=request.studio, kind=kind, **facts)
    except BillingError as wrong:
        form.add_error("amount", str(wrong))
        return False
    return True
