"""The ticket's page, where the rooms meet: garments, papers, money, history."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.billing.queries import ticket_money
from jobs.planning.ticket_plan import ticket_plan
from jobs.tickets.actions import open_lines
from jobs.tickets.cautions import care_of
from jobs.tickets.facts import on_page
from jobs.tickets.fit.queries import sums_on
from jobs.tickets.forms import CareForm, GarmentPhotoForm, PromiseForm
from jobs.tickets.queries import agreements_of, ticket_or_404
from studio.shop import clock, history
from studio.shop.http import StudioRequest


@require_GET
def ticket(request: StudioRequest, number: str) -> HttpResponse:
    found = ticket_or_404(number)
    entries = list(history.of(found))
    garments = list(found.garments.all())
    promise = clock.local(found.promise_at)
    money = ticket_money(found) if request.user.is_owner else None
    return render(
        request,
        "counter/ticket.html",
        {
            "ticket": found,
            "open_lines": open_lines(found),
            "entries": entries,
            "last_step": history.undoable(entries, request.user),
            "agreements": agreements_of(found),
            "money": money,
            "plan": ticket_plan(found, request.studio),
            "promise_form": PromiseForm(
                initial={"day": promise.date(), "time": promise.strftime("%H:%M")}
            ),
            "photo_form": GarmentPhotoForm(),
            "noted": {garment.pk: on_page(garment) for garment in garments},
            "care": care_of(garments, request.studio),
            "care_forms": {garment.pk: CareForm(instance=garment) for garment in garments},
            "fit": sums_on(found),
            "today": clock.today(),
        },
    )
