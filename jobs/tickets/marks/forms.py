"""Where a mark goes: tapped on the picture, or typed in hundredths of its sides."""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from jobs.tickets.marks.queries import height
from jobs.tickets.models import Photo

SHOWN = 280  # pixels across the picture where no script tells how wide it is shown


def percent(label: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        min_value=0,
        max_value=100,
        decimal_places=1,
        error_messages={
            "required": "Tap the place on the picture, or write it here.",
            "min_value": "This place is outside the picture.",
            "max_value": "This place is outside the picture.",
        },
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "0.1"}),
    )


class MarkForm(forms.Form):
    """One mark. Cleans to ``place``: thousandths across and down.

    The picture is a button that sends where it was pressed, in pixels of its size on the screen.
    Pressed by a key it sends 0, 0, which is no place.
    """

    words = forms.CharField(
        label="What is there",
        max_length=120,
        error_messages={"required": "Say in a few words what is there."},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    across = percent("Across, % from the left")
    down = percent("Down, % from the top")
    shown_width = forms.IntegerField(widget=forms.HiddenInput, required=False, initial=SHOWN)
    shown_height = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, data: QueryDict | None = None, *, photo: Photo) -> None:
        self.shown = (SHOWN, SHOWN * height(photo) // 1000)
        super().__init__(data and _with_tap(data, self.shown))
        self.fields["shown_height"].initial = self.shown[1]
        if self.place and not self.data.get("words", "").strip():
            self.fields["words"].widget.attrs["autofocus"] = True

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if "across" in found and "down" in found:
            found["place"] = int(found["across"] * 10), int(found["down"] * 10)
        return found

    @property
    def place(self) -> tuple[int, int] | None:
        """The thousandths of a mark that is not kept yet, if its place can be read."""
        if not self.is_bound:
            return None
        try:
            across, down = (
                self.fields[name].clean(self.data.get(name, "")) for name in ("across", "down")
            )
        except ValidationError:
            return None
        return int(across * 10), int(down * 10)


def _with_tap(data: QueryDict, shown: tuple[int, int]) -> QueryDict:
    """What was sent, with the tapped place as if it had been typed."""
    x, y = (_whole(data.get(f"spot.{axis}")) for axis in "xy")
    if not (x or y):
        return data
    width, high = (
        max(_whole(data.get(name)), 0) or usual
        for name, usual in zip(("shown_width", "shown_height"), shown, strict=True)
    )
    told = data.copy()
    told["across"], told["down"] = _hundredths(x, width), _hundredths(y, high)
    return told


def _whole(text: str | None) -> int:
    """A number of pixels; 0 for what is none."""
    digits = (text or "")[:7]
    return int(digits) if re.fullmatch(r"-?[0-9]+", digits) else 0


def _hundredths(pixels: int, side: int) -> str:
    return str(Decimal(pixels * 1000 // side) / 10)
