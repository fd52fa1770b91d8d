"""Who has a login."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.forms import SetPasswordForm
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST, require_safe

from studio.shop import actions
from studio.shop.access import owner_only
from studio.shop.http import StudioRequest
from studio.shop.models import User
from studio.shop.people_forms import PersonForm


@owner_only
@require_safe
def people(request: StudioRequest) -> HttpResponse:
    found = User.objects.order_by("-is_active", "username")
    return render(request, "shop/people.html", {"people": found})


@sensitive_post_parameters()
@owner_only
def person_new(request: StudioRequest) -> HttpResponse:
    form = PersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = actions.add_person(
            username=form.cleaned_data["username"],
            first_name=form.cleaned_data["first_name"],
            role=form.cleaned_data["role"],
            password=form.cleaned_data["password1"],
        )
        messages.success(request, f"{made.shown_name} can log in now.")
        return redirect("studio-people")
    return render(request, "shop/settings_form.html", {"form": form, "title": "A new login"})


@sensitive_post_parameters()
@owner_only
def person_password(request: StudioRequest, pk: int) -> HttpResponse:
    """A new password for somebody who forgot theirs."""
    person = get_object_or_404(User, pk=pk)
    form = SetPasswordForm(person, request.POST or None)
    if request.method == "POST" and form.is_valid():
        actions.set_password(person=person, password=form.cleaned_data["new_password1"])
        if person == request.user:
            update_session_auth_hash(request, person)
        messages.success(request, f"{person.shown_name} has a new password.")
        return redirect("studio-people")
    title = f"New password for {person.shown_name}"
    return render(request, "shop/settings_form.html", {"form": form, "title": title})


@owner_only
@require_POST
def person_out(request: StudioRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User, pk=pk)
    try:
        actions.show_out(person=person)
    except actions.LastOwnerError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{person.shown_name} can no longer log in.")
    return redirect("studio-people")


@owner_only
@require_POST
def person_back(request: StudioRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User, pk=pk)
    actions.let_back(person=person)
    messages.success(request, f"{person.shown_name} can log in again.")
    return redirect("studio-people")
