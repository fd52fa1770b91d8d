"""Appointments other than fittings, and own hours that were put on a day."""

from datetime import date, datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from jobs.planning import actions
from jobs.planning.models import Appointment
from studio.shop import clock
from studio.shop.forms import Chips, day_input, hour_input
from studio.shop.http import StudioRequest, sent
from studio.shop.locales import show_when

BY_ADDRESS = ("kind", "day", "time", "minutes")


def minutes_field(most: int, **attrs: str) -> forms.IntegerField:
    return forms.IntegerField(
        label="Minutes",
        min_value=5,
        max_value=most,
        initial=30,
        widget=forms.NumberInput(attrs={"inputmode": "numeric", "step": "any"} | attrs),
    )


class AppointmentForm(forms.Form):
    """Something other than a fitting. Cleans to ``starts_at`` too."""

    kind = forms.ChoiceField(
        choices=Appointment.Kind.choices,
        initial=Appointment.Kind.OTHER,
        widget=Chips,
    )
    name = forms.CharField(label="What", max_length=120, required=False)
    day = forms.DateField(label="Day", widget=day_input())
    time = forms.TimeField(label="at", widget=hour_input())
    minutes = minutes_field(1440)

    def clean(self) -> dict[str, Any]:
        facts = super().clean() or {}
        if facts.get("kind") == Appointment.Kind.OTHER and not facts.get("name"):
            self.add_error("name", "Say what it is.")
        if facts.get("day") and facts.get("time"):
            facts["starts_at"] = clock.at(facts["day"], facts["time"])
        return facts


def coming_appointments(since: date) -> QuerySet[Appointment]:
    """Those that are not over before the day ``since``."""
    return Appointment.objects.filter(starts_at__gte=clock.at(since, datetime.min.time()))


@require_http_methods(["GET", "POST"])
def appointments(request: StudioRequest) -> HttpResponse:
    """The list, and a form that an address such as ``?kind=own&day=2026-12-01`` fills in.

    What is put on a closed day by mistake leads on to own sewing.
    """
    initial = {name: request.GET[name] for name in BY_ADDRESS if name in request.GET}
    form = AppointmentForm(sent(request), initial=initial)
    if form.is_valid() and (appointment := _put(request, form)):
        when = show_when(appointment.starts_at, request.studio.locale)
        messages.success(request, f"{appointment}: {when}.")
        return redirect("appointments")
    coming = coming_appointments(clock.today())
    return render(request, "planning/appointments.html", {"form": form, "coming": coming})


@require_POST
def appointment_remove(request: StudioRequest, pk: int) -> HttpResponse:
    appointment = get_object_or_404(Appointment, pk=pk)
    actions.take_off_appointment(appointment=appointment)
    messages.success(request, f"{appointment}: removed.")
    return redirect("appointments")


def _put(request: StudioRequest, form: AppointmentForm) -> Appointment | None:
    facts = {name: form.cleaned_data[name] for name in ("kind", "name", "starts_at", "minutes")}
    try:
        return actions.put_appointment(**facts, studio=request.studio)
    except actions.PlanError as wrong:
        form.add_error(wrong.field or None, str(wrong))
        return None
