"""The whole list, its house rules, and the list to start from."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from jobs.pricing import actions
from jobs.pricing.forms import HourForm, RulesForm
from jobs.pricing.models import GarmentKind, PriceRules, Surcharge
from jobs.pricing.queries import counter_list, whole_list
from studio.shop.http import StudioRequest, owner_only


@require_safe
def prices(request: StudioRequest) -> HttpResponse:
    """The owner sees everything, a helper what is offered, without money."""
    surcharges = Surcharge.objects.all()
    if request.user.is_owner:
        found = {"kinds": whole_list(), "surcharges": surcharges, "rules": PriceRules.load()}
    else:
        found = {"kinds": counter_list(), "surcharges": surcharges.filter(active=True)}
    return render(request, "pricing/prices.html", found)


@owner_only
def rules(request: StudioRequest) -> HttpResponse:
    form = RulesForm(request.POST or None, instance=PriceRules.load(), studio=request.studio)
    if request.method == "POST" and form.is_valid():
        actions.keep_rules(rules=form.instance)
        messages.success(request, "House rules: saved. Tickets that were agreed keep theirs.")
        return redirect("prices")
    return render(request, "pricing/form.html", {"form": form, "title": "House rules"})


@owner_only
def start(request: StudioRequest) -> HttpResponse:
    """An empty list is filled; another one gets its prices reckoned anew from the minutes."""
    form = HourForm(
        request.POST or None, studio=request.studio, initial={"hour": actions.STARTING_HOUR}
    )
    if request.method == "POST" and form.is_valid():
        hour = form.cleaned_data["hour"]
        count = actions.load_starting_list(request.studio.currency, hour=hour)
        count = count or actions.reckon_prices(hour=hour)
        messages.success(request, f"{count} prices reckoned from their minutes. Look through them.")
        return redirect("prices")
    empty = not GarmentKind.objects.exists()
    return render(request, "pricing/start.html", {"form": form, "empty": empty})
