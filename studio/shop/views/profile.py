"""The owner's pages about the studio itself."""

from django.contrib import messages
from django.forms import ModelForm
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from studio.shop import actions, queries
from studio.shop.access import owner_only
from studio.shop.http import StudioRequest
from studio.shop.models import Profile, User, WorkingDay
from studio.shop.profile_forms import PapersForm, ProfileForm


@owner_only
@require_safe
def settings(request: StudioRequest) -> HttpResponse:
    """Everything that can be set, at a glance."""
    return render(
        request,
        "shop/settings.html",
        {
            "week": WorkingDay.objects.all(),
            "days_off": queries.coming_days_off()[:3],
            "people": User.objects.filter(is_active=True),
        },
    )


@owner_only
def profile(request: StudioRequest) -> HttpResponse:
    studio = Profile.objects.get(pk=1)
    form = ProfileForm(request.POST or None, instance=studio, country=studio.country)
    return _edit(request, form, "Name, place and units")


@owner_only
def papers(request: StudioRequest) -> HttpResponse:
    form = PapersForm(request.POST or None, instance=Profile.objects.get(pk=1))
    return _edit(request, form, "Papers")


def _edit(request: StudioRequest, form: ModelForm, title: str) -> HttpResponse:
    if request.method == "POST" and form.is_valid():
        actions.save_profile(studio=form.instance, fields=list(form.fields))
        messages.success(request, f"{title}: saved.")
        return redirect("studio-settings")
    return render(request, "shop/settings_form.html", {"form": form, "title": title})
