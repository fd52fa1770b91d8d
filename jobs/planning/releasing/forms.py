"""Minutes on a stage, written down afterwards."""

from datetime import datetime
from typing import Any

from django import forms

from studio.shop import clock
from studio.shop.forms import HoursField, day_input


class StageTimeForm(forms.Form):
    """``at`` is when the form was opened, so that the same sending twice is once."""

    minutes = HoursField(label="Hours", help_text="Such as 1:30, or 0:20 for twenty minutes.")
    day = forms.DateField(widget=day_input(), initial=clock.today)
    at = forms.DateTimeField(
        widget=forms.HiddenInput, initial=lambda: clock.now().isoformat(), required=False
    )

    def clean(self) -> dict[str, Any]:
        """``until`` is the moment of the day at which the form was opened."""
        told = super().clean() or {}
        if "day" in told:
            at: datetime = clock.local(told.get("at") or clock.now())
            told["until"] = clock.at(told["day"], at.time())
        return told
