"""Small questions to the published rules: is this cord allowed, is this garment exempt?"""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from clients.cautions import eu_cord, infant_exempt, us_cord, us_size
from clients.fields import LengthField
from studio.shop.forms import StudioFormMixin


def number(label: str, most: int, **kwargs: Any) -> forms.IntegerField:
    widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
    return forms.IntegerField(label=label, min_value=0, max_value=most, widget=widget, **kwargs)


class CordForm(StudioFormMixin, forms.Form):
    """A cord in a child's garment. Size asks the rule of the United States, age that of Europe."""

    place = forms.ChoiceField(
        label="Where", choices=[("neck", "Hood or neck"), ("waist", "Waist or lower edge")]
    )
    end = LengthField(label="Hangs out at each end, garment at full width", zero=True)
    size = forms.CharField(
        label="Size on the label, such as 4T or 10", max_length=6, required=False
    )
    years = number("Age in years", 18, required=False)
    loose_end = forms.BooleanField(label="A toggle or knot at a free end", required=False)
    untacked = forms.BooleanField(label="In one piece and not bar-tacked", required=False)

    def clean_size(self) -> int | None:
        typed = self.cleaned_data["size"]
        size = us_size(typed)
        if typed and size is None:
            raise ValidationError("Write a size in numbers, such as 4T or 10.")
        return size

    def clean(self) -> None:
        if self.cleaned_data.get("size") is None and self.cleaned_data.get("years") is None:
            self.add_error("size", "Write a size, an age or both.")

    def answers(self) -> list[tuple[str, tuple[str, ...]]]:
        """For each rule that was asked: its name, and what it finds wrong."""
        told = self.cleaned_data
        cord = {"place": told["place"], "end_mm": told["end"].mm}
        found = []
        if told["size"] is not None:
            wrong = us_cord(
                **cord,
                size=told["size"],
                loose_end=told["loose_end"],
                tacked=not told["untacked"],
            )
            found.append(("United States, 16 CFR 1120", wrong))
        if told["years"] is not None:
            found.append(
                ("Europe, EN 14682 (lengths of 2007)", eu_cord(**cord, years=told["years"]))
            )
        return found


class InfantForm(StudioFormMixin, forms.Form):
    """Night clothes for an infant, by the exemption of 16 CFR 1615."""

    length = LengthField(label="Whole length, of two pieces the longer")
    months = number("Oldest age on the label, in months", 48)
    two_piece = forms.BooleanField(label="In two pieces", required=False)

    def exempt(self) -> bool:
        told = self.cleaned_data
        return infant_exempt(
            length_mm=told["length"].mm, months=told["months"], two_piece=told["two_piece"]
        )
