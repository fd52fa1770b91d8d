"""The usual week, what is promised from it, and the days on which the studio is closed."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from studio.shop import actions, clock, queries
from studio.shop.access import owner_only
from studio.shop.http import StudioRequest
from studio.shop.models import DayOff, Profile
from studio.shop.profile_forms import PromiseForm
from studio.shop.week_forms import DaysOffForm, WeekForm


@owner_only
def week(request: StudioRequest) -> HttpResponse:
    days = WeekForm(request.POST or None)
    promise = PromiseForm(request.POST or None, instance=Profile.objects.get(pk=1))
    if request.method == "POST":
        checked = [days.is_valid(), promise.is_valid()]
        if all(checked):
            actions.save_week(days=days.week())
            actions.save_profile(studio=promise.instance, fields=list(promise.fields))
            messages.success(request, "Working week: saved.")
            return redirect("studio-settings")
    return render(request, "shop/week.html", {"days": days, "promise": promise})


@owner_only
def days_off(request: StudioRequest) -> HttpResponse:
    form = DaysOffForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        count = actions.add_days_off(**form.cleaned_data)
        messages.success(request, f"Closed on {count} more {'day' if count == 1 else 'days'}.")
        return redirect("studio-days-off")
    year = clock.today().year
    found = {"form": form, "coming": queries.coming_days_off(), "years": [year, year + 1]}
    return render(request, "shop/days_off.html", found)


@owner_only
@require_POST
def holidays(request: StudioRequest) -> HttpResponse:
    """Close on the public holidays of this year or the next."""
    this_year = clock.today().year
    year = this_year + 1 if request.POST.get("year") == str(this_year + 1) else this_year
    count = actions.add_public_holidays(country=request.studio.country, year=year)
    messages.success(request, f"{count} public holidays of {year} added.")
    return redirect("studio-days-off")


@owner_only
@require_POST
def day_off_remove(request: StudioRequest, pk: int) -> HttpResponse:
    actions.remove_day_off(day_off=get_object_or_404(DayOff, pk=pk))
    return redirect("studio-days-off")
