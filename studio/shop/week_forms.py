"""The usual week, and the days on which the studio is closed."""

from calendar import day_name
from datetime import time
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from studio.shop import clock
from studio.shop.actions import Day
from studio.shop.forms import HoursField, day_input, hour_input
from studio.shop.models import WorkingDay

OPENS = time(9, 0)
LONGEST_CLOSURE = 92  # days; a longer one is more likely a slip of the year


class DayForm(forms.Form):
    starts = forms.TimeField(label="Opens at", widget=hour_input())
    hours = HoursField(label="Hours at the bench")

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        starts, minutes = found.get("starts"), found.get("hours")
        if starts and minutes and starts.hour * 60 + starts.minute + minutes > 1440:
            self.add_error("hours", "A working day cannot run over midnight: end it by 24:00.")
        return found


class WeekForm:
    """Seven days, Monday first; each is a ``DayForm`` with its ``name``."""

    def __init__(self, data: Any = None, *, minutes: dict[int, int] | None = None) -> None:
        """``minutes`` suggests hours where the database has no week yet."""
        kept = {day.weekday: (day.starts, day.minutes) for day in WorkingDay.objects.all()}
        self.days = []
        for weekday, name in enumerate(day_name):
            starts, hours = kept.get(weekday, (OPENS, (minutes or {}).get(weekday, 0)))
            initial = {"starts": starts, "hours": hours}
            form = DayForm(data, prefix=name.lower(), initial=initial)
            form.name = name  # type: ignore[attr-defined]
            self.days.append(form)

    def is_valid(self) -> bool:
        checked = [day.is_valid() for day in self.days]
        return all(checked)

    def week(self) -> list[Day]:
        return [
            Day(weekday, form.cleaned_data["starts"], form.cleaned_data["hours"])
            for weekday, form in enumerate(self.days)
        ]


class DaysOffForm(forms.Form):
    first = forms.DateField(label="Closed on", widget=day_input())
    last = forms.DateField(
        label="Until",
        required=False,
        widget=day_input(),
        help_text="Leave empty for a single day.",
    )
    reason = forms.CharField(max_length=100, required=False)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        first = found.get("first")
        if not first or "last" in self.errors:
            return found
        last = found["last"] = found["last"] or first
        if first < clock.today():
            raise ValidationError({"first": "This day is over."})
        if last < first:
            raise ValidationError({"last": "The last day comes before the first."})
        if (last - first).days >= LONGEST_CLOSURE:
            raise ValidationError({"last": f"At most {LONGEST_CLOSURE} days at once."})
        return found
