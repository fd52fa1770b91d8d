"""Lists: what is ready, who owes, what is not collected, invoices, payments."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.billing import filters, queries, tables
from jobs.billing.forms import AgeForm
from jobs.billing.models import Invoice, Payment
from studio.shop.http import StudioRequest, owner_only
from studio.shop.paging import show_page


@require_GET
def ready(request: StudioRequest) -> HttpResponse:
    table = tables.WaitingTable(
        queries.ready_tickets(), studio=request.studio, hide=_hidden(request)
    )
    return render(request, "billing/ready.html", {"table": _paged(request, table)})


@require_GET
def uncollected(request: StudioRequest) -> HttpResponse:
    form = AgeForm(request.GET)
    days = (form.is_valid() and form.cleaned_data["days"]) or 0
    table = tables.WaitingTable(
        queries.uncollected(days), studio=request.studio, hide=_hidden(request)
    )
    return render(
        request,
        "billing/uncollected.html",
        {
            "form": form,
            "chosen": days,
            "ages": queries.waiting_by_age(),
            "table": _paged(request, table),
        },
    )


@owner_only
@require_GET
def owing(request: StudioRequest) -> HttpResponse:
    chosen = filters.OwingFilter(request.GET, queryset=queries.owing())
    table = tables.OwingTable(chosen.qs, studio=request.studio)
    return render(
        request,
        "billing/owing.html",
        {"filter": chosen, "table": _paged(request, table), "open": queries.open_money()},
    )


@owner_only
@require_GET
def invoices(request: StudioRequest) -> HttpResponse:
    rows = Invoice.objects.select_related("ticket", "refers_to")
    chosen = filters.InvoiceFilter(request.GET, queryset=rows)
    table = tables.InvoiceTable(chosen.qs, studio=request.studio)
    return render(
        request, "billing/invoices.html", {"filter": chosen, "table": _paged(request, table)}
    )


@owner_only
@require_GET
def payments(request: StudioRequest) -> HttpResponse:
    chosen = filters.PaymentFilter(request.GET, queryset=Payment.objects.select_related("ticket"))
    table = tables.PaymentTable(chosen.qs, studio=request.studio)
    return render(
        request, "billing/payments.html", {"filter": chosen, "table": _paged(request, table)}
    )


def _hidden(request: StudioRequest) -> tuple[str, ...]:
    """A helper sees who is waited for, not the money."""
    return () if request.user.is_owner else ("balance",)


def _paged(request: StudioRequest, table: tables.StudioTable) -> tables.StudioTable:
    show_page(table, request)
    return table
