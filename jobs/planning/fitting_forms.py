"""When a fitting is to be: one of the times on offer, or another."""

from collections.abc import Iterable
from datetime import datetime
from itertools import groupby
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from jobs.planning.models import Fitting
from jobs.planning.small_forms import minutes_field
from studio.shop import clock
from studio.shop.forms import Chips, day_input, hour_input
from studio.shop.locales import show_clock, show_day

OTHER = "other"
# Another length is offered other times; without scripts the page says so when it is sent.
OTHER_TIMES = {
    "hx-get": "",
    "hx-trigger": "change",
    "hx-target": "#offer",
    "hx-select": "#offer",
    "hx-swap": "outerHTML",
    "hx-params": "minutes",
}


class Times(forms.RadioSelect):
    """Times as chips, a row for each day."""

    template_name = "planning/times.html"


class WhenForm(forms.Form):
    """One of the times on offer, or another. Cleans to ``starts_at``, an aware moment."""

    slot = forms.CharField(label="Free times", required=False, widget=Times, max_length=40)
    day = forms.DateField(label="Another day", required=False, widget=day_input())
    time = forms.TimeField(label="at", required=False, widget=hour_input())

    def offer(self, times: Iterable[datetime], locale: str) -> None:
        """Show these times as chips."""
        days = groupby(times, key=lambda moment: show_day(moment, locale, year=False))
        rows = [
            (day, [(moment.isoformat(), show_clock(moment, locale)) for moment in moments])
            for day, moments in days
        ]
        self.fields["slot"].widget.choices = [*rows, (OTHER, "Another time")]

    def clean_slot(self) -> datetime | None:
        slot = self.cleaned_data["slot"]
        if slot in {"", OTHER}:
            return None
        try:
            moment = datetime.fromisoformat(slot)
        except ValueError:
            moment = None
        if moment is None or moment.tzinfo is None:
            raise ValidationError("Choose one of the times, or write another.")
        return moment

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        slot, day, hour = (found.get(name) for name in ("slot", "day", "time"))
        typed = clock.at(day, hour) if day and hour else None
        if slot and typed and typed != slot:
            self.add_error("slot", "Choose one of the times, or write another: not both.")
        if not slot and not self.errors:
            for name, value, wrong in (
                ("day", day, "Choose a time above, or say which day."),
                ("time", hour, "Say at what time."),
            ):
                if value is None:
                    self.add_error(name, wrong)
        found["starts_at"] = slot or typed
        return found

    def refuse(self, message: str, field: str) -> None:
        """Say it beside what was chosen."""
        self.add_error("slot" if self.cleaned_data.get("slot") else field or "time", message)


class FittingForm(WhenForm):
    kind = forms.ChoiceField(choices=Fitting.Kind.choices, widget=Chips)
    minutes = minutes_field(480, **OTHER_TIMES)
    field_order = ["kind", "minutes", "slot", "day", "time"]
