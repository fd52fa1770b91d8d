"""The forms of a ticket: promise, care label, shoes, photographs and marks, initials, cautions."""

import re
from datetime import date
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from clients.cautions.garments import eu_cord, infant_exempt, us_cord, us_size
from clients.fields import HeelField, LengthField, longest, storable
from clients.fit.lengths import Length
from jobs.pricing.models import Basis, Measure
from jobs.tickets.actions import WornWith
from jobs.tickets.fit.answers import Pin
from jobs.tickets.fit.body import bases_of
from jobs.tickets.models import Garment, Initials, Line, Photo
from jobs.tickets.queries import height
from studio.shop import clock
from studio.shop.forms import Chips, ModelForm, StudioFormMixin, day_input, hour_input
from studio.shop.models import Profile
from studio.shop.pictures import ACCEPTED, FreshPicture, PictureError, redraw, redraw_ink


class PromiseDayForm(forms.Form):
    """Another day and time for the promise, and why."""

    day = forms.DateField(label="Ready by", widget=day_input())
    time = forms.TimeField(label="at", widget=hour_input())
    reason = forms.CharField(max_length=200, required=False, label="Why")

    def clean_day(self) -> date:
        day: date = self.cleaned_data["day"]
        if day < clock.today():
            raise forms.ValidationError("This day is over. Choose today or a later day.")
        return day


class MeasureForm(StudioFormMixin, forms.Form):
    """How far, for work that was to be measured later. Each line of the page has its own ids."""

    amount = LengthField(label="How far", error_messages={"required": "Write how far."})
    measure = forms.ChoiceField(label="What is measured", choices=Measure.choices, widget=Chips)
    basis = forms.ChoiceField(label="In total or each", choices=Basis.choices, widget=Chips)

    def __init__(self, data: QueryDict | None = None, *, line: Line, studio: Profile) -> None:
        usual = {"measure": line.measure, "basis": line.basis}
        super().__init__(data, initial=usual, studio=studio, auto_id=f"measure-{line.pk}-%s")
        self.fields["amount"].label = f"How far ({studio.unit})"
        bases = {*bases_of(line.garment.kind_name), line.basis}
        basis = cast("forms.ChoiceField", self.fields["basis"])
        basis.choices = [row for row in Basis.choices if row[0] in bases]

    def clean_amount(self) -> Length | None:
        return storable(self.cleaned_data["amount"], Line, "amount_typed")

    @property
    def pin(self) -> Pin:
        """The amount of the valid form."""
        facts = self.cleaned_data
        return Pin(facts["amount"].mm, facts["amount"].with_unit, facts["measure"], facts["basis"])


class WhyForm(forms.Form):
    why = forms.CharField(max_length=200, label="Why it was not done")


class CareForm(ModelForm):
    """What the care label says. Each garment of the page has its own ids."""

    class Meta:
        model = Garment
        fields = ["fibre", "iron"]
        labels = {"fibre": "Fibres on the label", "iron": "Iron on the label"}
        help_texts = {"fibre": "Such as 80 % wool 20 % polyamide."}

    def __init__(self, data: QueryDict | None = None, *, instance: Garment) -> None:
        super().__init__(data, instance=instance, auto_id=f"care-{instance.pk}-%s")


class WornForm(StudioFormMixin, forms.Form):
    """What a garment is worn with, as the fitting shows."""

    heel = HeelField(label="Heel height", required=False)
    shoes = forms.CharField(label="Shoes", max_length=longest(Garment, "shoes"), required=False)
    underwear = forms.CharField(
        label="Underwear", max_length=longest(Garment, "underwear"), required=False
    )

    def clean_heel(self) -> Length | None:
        return storable(self.cleaned_data["heel"], Garment, "heel_typed")

    def worn(self) -> WornWith:
        facts = self.cleaned_data
        heel = facts["heel"]
        if heel is None:
            return WornWith(shoes=facts["shoes"], underwear=facts["underwear"])
        return WornWith(heel.mm, heel.with_unit, facts["shoes"], facts["underwear"])


class GarmentPhotoForm(forms.Form):
    """One picture; cleaned to the redrawn ``FreshPicture``."""

    picture = forms.FileField(
        label="Photograph",
        widget=forms.FileInput(attrs={"accept": ACCEPTED, "capture": "environment"}),
    )

    def clean_picture(self) -> FreshPicture:
        try:
            return redraw(self.cleaned_data["picture"])
        except PictureError as wrong:
            raise forms.ValidationError(str(wrong)) from wrong


class ClothKindForm(forms.Form):
    """What the garment is made of."""

    cloth = forms.ChoiceField(
        label="Cloth of this garment",
        choices=[("", "Not noted"), *Garment.ClothKind.choices],
        required=False,
        widget=Chips,
    )


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
    across = percent("Across: 0 left, 100 right")
    down = percent("Down: 0 top, 100 bottom")
    shown_width = forms.IntegerField(widget=forms.HiddenInput, required=False, initial=SHOWN)
    shown_height = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(
        self,
        data: QueryDict | None = None,
        *,
        photo: Photo,
        place: tuple[int, int] | None = None,
    ) -> None:
        """``place`` is one that was tapped already, in thousandths, and still has no words."""
        self.shown = (SHOWN, SHOWN * height(photo) // 1000)
        self.tapped = place
        super().__init__(data and _with_tap(data, self.shown))
        self.fields["shown_height"].initial = self.shown[1]
        if place:
            for name, thousandths in zip(("across", "down"), place, strict=True):
                self.fields[name].initial = str(Decimal(thousandths) / 10)
            self.fields["words"].widget.attrs["autofocus"] = True
            self.fields["words"].help_text = "Say in a few words what is there."

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "across" in cleaned and "down" in cleaned:
            cleaned["place"] = int(cleaned["across"] * 10), int(cleaned["down"] * 10)
        return cleaned

    @property
    def place(self) -> tuple[int, int] | None:
        """The thousandths of a mark that is not kept yet, if its place can be read."""
        if not self.is_bound:
            return self.tapped
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
    typed = data.copy()
    typed["across"], typed["down"] = _hundredths(x, width), _hundredths(y, high)
    return typed


def _whole(text: str | None) -> int:
    """A number of pixels; 0 for what is none."""
    digits = (text or "")[:7]
    return int(digits) if re.fullmatch(r"-?[0-9]+", digits) else 0


def _hundredths(pixels: int, side: int) -> str:
    return str(Decimal(pixels * 1000 // side) / 10)


class InitialsForm(forms.Form):
    """Cleans to ``ink`` too: the redrawn PNG, empty for initials on paper."""

    letters = forms.CharField(
        label="Initials",
        max_length=8,
        error_messages={"required": "Write the client's initials."},
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    way = forms.ChoiceField(choices=Initials.Medium.choices)
    drawing = forms.CharField(required=False, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        cleaned["ink"] = b""
        if cleaned.get("way") == Initials.Medium.GLASS:
            try:
                cleaned["ink"] = redraw_ink(cleaned.get("drawing", ""))
            except PictureError as wrong:
                self.add_error("drawing", str(wrong))
        return cleaned


def first_letters(name: str) -> str:
    """What the initials of ``name`` probably are."""
    return "".join(part[0] for part in name.replace("-", " ").split())[:4].upper()


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
        facts = self.cleaned_data
        cord = {"place": facts["place"], "end_mm": facts["end"].mm}
        answers = []
        if facts["size"] is not None:
            wrong = us_cord(
                **cord,
                size=facts["size"],
                loose_end=facts["loose_end"],
                tacked=not facts["untacked"],
            )
            answers.append(("United States, 16 CFR 1120", wrong))
        if facts["years"] is not None:
            answers.append(
                ("Europe, EN 14682 (lengths of 2007)", eu_cord(**cord, years=facts["years"]))
            )
        return answers


class InfantForm(StudioFormMixin, forms.Form):
    """Night clothes for an infant, by the exemption of 16 CFR 1615."""

    length = LengthField(label="Whole length, of two pieces the longer")
    months = number("Oldest age on the label, in months", 48)
    two_piece = forms.BooleanField(label="In two pieces", required=False)

    def exempt(self) -> bool:
        facts = self.cleaned_data
        return infant_exempt(
            length_mm=facts["length"].mm, months=facts["months"], two_piece=facts["two_piece"]
        )
