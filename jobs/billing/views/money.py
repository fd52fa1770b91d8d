"""The money room's front page, the day-end sheet and the ledger."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.billing import queries
from jobs.billing.forms import DayForm, SpanForm
from jobs.billing.ledger_csv import ledger_file
from studio.shop import clock
from studio.shop.http import StudioRequest, owner_only


@owner_only
@require_GET
def money(request: StudioRequest) -> HttpResponse:
    today = clock.today()
    first = today.replace(day=1)
    return render(
        request,
        "billing/money.html",
        {
            "first": first,
            "today": queries.taken_on(today),
            "month": queries.taken_between(first, today),
            "invoiced": queries.invoiced_between(first, today),
            "open": queries.open_money(),
            "waiting": queries.waiting_by_age(),
            "span": SpanForm(initial={"from": first, "to": today}),
        },
    )


@owner_only
@require_GET
def day_end(request: StudioRequest) -> HttpResponse:
    form = DayForm(request.GET)
    day = form.cleaned_data["day"] if form.is_valid() else None
    return render(
        request,
        "billing/day_end.html",
        {"form": form, "day": day, "takings": queries.taken_on(day) if day else None},
    )


@owner_only
@require_GET
def ledger_csv(request: StudioRequest) -> HttpResponse:
    form = SpanForm(request.GET)
    if not form.is_valid():
        return render(request, "billing/ledger.html", {"form": form}, status=400)
    return ledger_file(form.cleaned_data["from"], form.cleaned_data["to"])
