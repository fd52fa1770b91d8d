"""A client's page: who, what is here, what is owed, every ticket."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from clients.fit.changes import is_old
from clients.queries import live_client
from clients.sheets.queries import last_day
from jobs.billing.queries import with_balances
from jobs.tickets.queries import pieces_here, ticket_list
from studio.shop import clock
from studio.shop.http import StudioRequest


@require_GET
def client(request: StudioRequest, pk: int) -> HttpResponse:
    found = live_client(pk)
    if found.pk != pk:
        return redirect("client", found.pk)
    tickets: QuerySet[Any] = ticket_list().filter(client=found)
    owed = None
    if request.user.is_owner:
        tickets = with_balances(tickets)
        owed = sum(ticket.balance for ticket in tickets)
    measured = last_day(found)
    context = {
        "client": found,
        "tickets": tickets,
        "here": pieces_here(found),
        "owed": owed,
        "measured": measured,
        "measured_long_ago": measured is not None and is_old(measured, clock.today()),
    }
    return render(request, "counter/client.html", context)
