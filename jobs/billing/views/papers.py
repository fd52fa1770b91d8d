"""Invoices, credit notes and receipts as PDF, the same file each time."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from jobs.billing import documents
from jobs.billing.models import Invoice, Payment
from studio.shop.http import StudioRequest, absolute, owner_only
from studio.shop.paper import serve_paper


@owner_only
@require_safe
def invoice_paper(request: StudioRequest, number: str) -> HttpResponse:
    invoices = Invoice.objects.select_related("ticket", "paper")
    invoice = get_object_or_404(invoices, number=number.upper())
    address = absolute(request, invoice.ticket.get_absolute_url())
    return serve_paper(documents.invoice_paper(invoice, studio=request.studio, address=address))


@owner_only
@require_safe
def receipt(request: StudioRequest, number: str) -> HttpResponse:
    payments = Payment.objects.select_related("ticket", "paper")
    payment = get_object_or_404(payments, number=number.upper())
    address = absolute(request, payment.ticket.get_absolute_url())
    return serve_paper(documents.receipt_paper(payment, studio=request.studio, address=address))
