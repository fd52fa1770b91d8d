"""Short forms of the week: appointments, waits, and the heel of a hem."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from clients.fields import LengthField
from clients.fit.lengths import Length
from jobs.planning.models import Appointment, Wait
from jobs.tickets.forms import storable
from jobs.tickets.models import Garment
from studio.shop import clock
from studio.shop.forms import Chips, StudioFormMixin, day_input, hour_input


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
        found = super().clean() or {}
        if found.get("kind") == Appointment.Kind.OTHER and not found.get("name"):
            self.add_error("name", "Say what it is.")
        if found.get("day") and found.get("time"):
            found["starts_at"] = clock.at(found["day"], found["time"])
        return found


class WaitForm(forms.Form):
    what = forms.ChoiceField(
        label="It waits for",
        choices=Wait.What.choices,
        widget=Chips({"class": "chips big"}),
        error_messages={"required": "Say what it waits for."},
    )
    question = forms.CharField(
        label="The question, or what is missing", max_length=300, required=False
    )
    expected = forms.DateField(label="Expected on", required=False, widget=day_input())

    def clean_expected(self) -> date | None:
        day = self.cleaned_data["expected"]
        if day and day < clock.today():
            raise ValidationError("This day is over.")
        return day


class HeelForm(StudioFormMixin, forms.Form):
    """The heel height of today's shoes, needed before this hem is cut.

    Where it is known already, it is told only when the shoes are other ones. ``marked_at`` says
    at which of two heights the hem was marked.
    """

    heel = LengthField(
        label="Heel height of the shoes",
        error_messages={"required": "Write the heel height first: this hem is worn with them."},
    )
    marked_at = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, garment: Garment, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if garment.heel_typed:
            self.fields["heel"].required = False
            self.fields["heel"].label = "Heel height today, if the shoes are others"
        self.fields["marked_at"].initial = garment.heel_typed

    def clean_heel(self) -> Length | None:
        return storable(self.cleaned_data["heel"], Garment, "heel_typed")
