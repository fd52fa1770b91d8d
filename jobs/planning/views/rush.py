"""What happens if a job is taken for a day; and the jobs that were not taken."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from jobs.planning import actions
from jobs.planning.models import Declined
from jobs.planning.rush import ask_rush, pieces_of, rush_fee
from jobs.planning.rush_forms import DeclineForm, RushForm
from jobs.pricing.queries import counter_list
from studio.shop.http import StudioRequest
from studio.shop.locales import show_day

RECENT = 20


@require_http_methods(["GET", "POST"])
def rush(request: StudioRequest) -> HttpResponse:
    """``?day=2026-12-01&hours=3`` asks; the same sent as a form declines it."""
    kinds, sees_money = counter_list(), request.user.is_owner
    data = request.POST if request.method == "POST" else request.GET
    form = RushForm(data or None, studio=request.studio, kinds=kinds, sees_money=sees_money)
    refusal = DeclineForm(request.POST or None)
    context: dict[str, Any] = {"form": form, "kinds": kinds, "refusal": refusal}
    if form.is_valid():
        said = form.cleaned_data
        pieces = pieces_of(said["works"], said["hours"] or 0, said["before"])
        if refusal.is_valid():
            minutes = sum(piece.minutes for piece in pieces)
            return _decline(request, said["day"], minutes, refusal.cleaned_data["note"])
        context["asked"] = ask_rush(request.studio, pieces, said["day"])
        if sees_money and form.price:
            context["fee"] = rush_fee(form.price, request.studio)
    context["declined"] = Declined.objects.select_related("by")[:RECENT]
    return render(request, "planning/rush.html", context)


def _decline(request: StudioRequest, day, minutes: int, note: str) -> HttpResponse:
    actions.decline(wanted_by=day, minutes=minutes, note=note, by=request.user)
    shown = show_day(day, request.studio.locale, year=False)
    messages.success(request, f"Declined for {shown}.")
    return redirect("rush")
