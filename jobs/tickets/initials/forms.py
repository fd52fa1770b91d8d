"""Initials: letters always, and what was drawn when they are given on the glass."""

from typing import Any

from django import forms

from jobs.tickets.models import Initials
from studio.shop.pictures import PictureError, redraw_ink


class InitialsForm(forms.Form):
    """Cleans to ``ink`` too: the redrawn PNG, empty for initials on paper."""

    letters = forms.CharField(
        label="Initials",
        max_length=8,
        error_messages={"required": "Write the client's initials."},
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    way = forms.ChoiceField(choices=Initials.Way.choices)
    drawing = forms.CharField(required=False, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        found["ink"] = b""
        if found.get("way") == Initials.Way.GLASS:
            try:
                found["ink"] = redraw_ink(found.get("drawing", ""))
            except PictureError as wrong:
                self.add_error("drawing", str(wrong))
        return found


def first_letters(name: str) -> str:
    """What the initials of ``name`` probably are."""
    return "".join(part[0] for part in name.replace("-", " ").split())[:4].upper()
