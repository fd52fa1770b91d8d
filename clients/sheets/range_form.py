"""The owner's own ranges: outside them a sheet asks whether a value is right."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from clients.fields import LengthField, unit_of
from clients.fit.lengths import show_length
from clients.fit.measures import MEASURES, Measure, Range
from studio.shop.forms import StudioFormMixin
from studio.shop.models import Profile

ENDS = ("low", "high")


@dataclass(frozen=True)
class RangeRow:
    """One measure: the range of the list in words, and the fields of the owner's own."""

    measure: Measure
    usual: str
    low: BoundField
    high: BoundField


class RangesForm(StudioFormMixin, forms.Form):
    """Two lengths for each measure; both empty means the range of the list."""

    use_required_attribute = False

    def __init__(
        self, *args: Any, studio: Profile, own: Mapping[str, Range] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, studio=studio, **kwargs)
        for key, measure in MEASURES.items():
            for end in ENDS:
                field = LengthField(label=f"{measure.name}, {end}", required=False)
                field.for_studio(studio)
                self.fields[f"{key}_{end}"] = field
                if own and key in own:
                    shown = show_length(getattr(own[key], end), field.unit)
                    self.initial[f"{key}_{end}"] = shown

    def clean(self) -> dict[str, Any]:
        super().clean()
        for key in MEASURES:
            low, high = (self.cleaned_data.get(f"{key}_{end}") for end in ENDS)
            if any(f"{key}_{end}" in self.errors for end in ENDS):
                continue
            if bool(low) != bool(high):
                self.add_error(f"{key}_{'high' if low else 'low'}", "Write both ends, or neither.")
            elif low and high and low.mm >= high.mm:
                self.add_error(f"{key}_high", "The high end is above the low one.")
        return self.cleaned_data

    def ranges(self) -> dict[str, Range]:
        """The owner's own, by measure."""
        told = {key: [self.cleaned_data[f"{key}_{end}"] for end in ENDS] for key in MEASURES}
        return {key: Range(low.mm, high.mm) for key, (low, high) in told.items() if low and high}

    def rows(self) -> Iterator[RangeRow]:
        unit = unit_of(self.studio)
        for key, measure in MEASURES.items():
            low, high = (show_length(getattr(measure.range, end), unit) for end in ENDS)
            usual = f"{low} to {high} {unit}"
            yield RangeRow(measure, usual, self[f"{key}_low"], self[f"{key}_high"])
