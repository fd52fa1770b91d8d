"""Issue an invoice, look at one, take one back, print it."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.billing import actions
from jobs.billing.forms import ReasonForm
from jobs.billing.models import Invoice
from jobs.tickets.queries import ticket_or_404
from studio.shop.forms import TOO_OLD, OnceForm
from studio.shop.http import StudioRequest, owner_only


@owner_only
@require_POST
def issue(request: StudioRequest, number: str) -> HttpResponse:
    ticket = ticket_or_404(number)
    form = OnceForm(request.POST, studio=request.studio)
    if not form.is_valid():
        messages.error(request, TOO_OLD)
        return redirect(ticket)
    try:
        invoice = actions.issue_invoice(
            ticket=ticket, by=request.user, studio=request.studio,
            form_key=form.cleaned_data["form_key"],
        )  # fmt: skip
    except actions.BillingError as wrong:
        messages.error(request, str(wrong))
        return redirect(ticket)
    return redirect(invoice)


@owner_only
@require_GET
def invoice(request: StudioRequest, number: str) -> HttpResponse:
    """What was issued, from the copy; the ticket may say something else by now."""
    found = _invoice(number)
    return render(
        request,
        "billing/invoice.html",
        {
            "invoice": found,
            "data": found.data,
            "credit": found.credits.first(),
            "payments": list(found.payments.order_by("pk")),
        },
    )


@owner_only
@require_http_methods(["GET", "POST"])
def credit(request: StudioRequest, number: str) -> HttpResponse:
    found = _invoice(number)
    form = ReasonForm(request.POST or None, studio=request.studio)
    if form.is_valid():
        try:
            note = actions.credit_invoice(
                invoice=found, by=request.user, studio=request.studio, **form.cleaned_data
            )
        except actions.BillingError as wrong:
            form.add_error(None, str(wrong))
        else:
            messages.success(request, f"{found.number} is taken back by credit note {note.number}.")
            return redirect(note)
    return render(request, "billing/credit.html", {"invoice": found, "form": form})


def _invoice(number: str) -> Invoice:
    rows = Invoice.objects.select_related("ticket__client", "issued_by", "refers_to")
    return get_object_or_404(rows, number=number.upper())
