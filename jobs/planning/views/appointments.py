"""Appointments other than fittings, and own hours that were put on a day."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from jobs.planning import actions
from jobs.planning.models import Appointment
from jobs.planning.queries import coming_appointments
from jobs.planning.small_forms import AppointmentForm
from studio.shop import clock
from studio.shop.http import StudioRequest, sent
from studio.shop.locales import show_when

ASKED = ("kind", "day", "minutes")


@require_http_methods(["GET", "POST"])
def appointments(request: StudioRequest) -> HttpResponse:
    """The list, and a form that an address such as ``?kind=own&day=2026-12-01`` fills in."""
    asked = {name: request.GET[name] for name in ASKED if name in request.GET}
    form = AppointmentForm(sent(request), initial=asked)
    if form.is_valid() and (made := _put(request, form)):
        when = show_when(made.starts_at, request.studio.locale)
        messages.success(request, f"{made}: {when}.")
        return redirect("appointments")
    coming = coming_appointments(clock.today())
    return render(request, "planning/appointments.html", {"form": form, "coming": coming})


@require_POST
def appointment_remove(request: StudioRequest, pk: int) -> HttpResponse:
    gone = get_object_or_404(Appointment, pk=pk)
    actions.take_off_appointment(appointment=gone)
    messages.success(request, f"{gone}: taken off.")
    return redirect("appointments")


def _put(request: StudioRequest, form: AppointmentForm) -> Appointment | None:
    said: dict[str, Any] = form.cleaned_data
    told = {name: said[name] for name in ("kind", "name", "starts_at", "minutes")}
    try:
        return actions.put_appointment(**told, studio=request.studio)
    except actions.PlanError as wrong:
        form.add_error(wrong.field or None, str(wrong))
        return None
