"""Small forms on the ticket's page. The drop-off form itself belongs to the counter."""

from datetime import date

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Model
from django.http import QueryDict

from clients.fields import LengthField
from clients.fit.lengths import Length
from jobs.tickets.actions import Worn
from jobs.tickets.amounts import with_unit
from jobs.tickets.models import Garment
from studio.shop import clock
from studio.shop.forms import StudioFormMixin, day_input, hour_input
from studio.shop.pictures import FreshPicture, PictureError, redraw


class PromiseForm(forms.Form):
    """Another day and time for the promise, and why."""

    day = forms.DateField(label="Ready on", widget=day_input())
    time = forms.TimeField(label="at", widget=hour_input())
    reason = forms.CharField(max_length=200, required=False, label="Why")

    def clean_day(self) -> date:
        day = self.cleaned_data["day"]
        if day < clock.today():
            raise forms.ValidationError("This day is over. Choose today or a later day.")
        return day


def longest(model: type[Model], name: str) -> int:
    """How many letters the model's column holds."""
    column = model._meta.get_field(name)  # noqa: SLF001 -- Django's documented way
    return getattr(column, "max_length", None) or 0


def storable(length: Length | None, model: type[Model], name: str) -> Length | None:
    """The length, unless it is too long to keep as it was typed, with its unit."""
    if length and len(with_unit(length)) > longest(model, name):
        raise ValidationError("Write this shorter, such as 12.5 cm or 4 7/8 in.", code="long")
    return length


class WhyForm(forms.Form):
    why = forms.CharField(max_length=200, label="Why it was not done")


class CareForm(forms.ModelForm):
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

    heel = LengthField(label="Heel height", required=False)
    shoes = forms.CharField(label="Shoes", max_length=longest(Garment, "shoes"), required=False)
    underwear = forms.CharField(
        label="Underwear", max_length=longest(Garment, "underwear"), required=False
    )

    def clean_heel(self) -> Length | None:
        return storable(self.cleaned_data["heel"], Garment, "heel_typed")

    def worn(self) -> Worn:
        said = self.cleaned_data
        heel = said["heel"]
        if heel is None:
            return Worn(shoes=said["shoes"], underwear=said["underwear"])
        return Worn(heel.mm, with_unit(heel), said["shoes"], said["underwear"])


class GarmentPhotoForm(forms.Form):
    """One picture; cleaned to the redrawn ``FreshPicture``."""

    picture = forms.FileField(
        label="Photograph",
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )

    def clean_picture(self) -> FreshPicture:
        try:
            return redraw(self.cleaned_data["picture"])
        except PictureError as wrong:
            raise forms.ValidationError(str(wrong)) from wrong
