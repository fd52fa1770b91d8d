"""Small forms on the ticket's page. The drop-off form itself belongs to the counter."""

from datetime import date

from django import forms

from studio.shop import clock
from studio.shop.pictures import Picture, PictureError, redraw


class PromiseForm(forms.Form):
    """Another day and time for the promise, and why."""

    day = forms.DateField(label="Ready on", widget=forms.DateInput(attrs={"type": "date"}))
    time = forms.TimeField(label="at", widget=forms.TimeInput(attrs={"type": "time"}))
    reason = forms.CharField(max_length=200, required=False, label="Why")

    def clean_day(self) -> date:
        day = self.cleaned_data["day"]
        if day < clock.today():
            raise forms.ValidationError("This day is over. Choose today or a later day.")
        return day


class WhyForm(forms.Form):
    why = forms.CharField(max_length=200, label="Why it was not done")


class GarmentPhotoForm(forms.Form):
    """One picture; cleaned to the redrawn ``Picture``."""

    picture = forms.FileField(
        label="Photograph",
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )

    def clean_picture(self) -> Picture:
        try:
            return redraw(self.cleaned_data["picture"])
        except PictureError as wrong:
            raise forms.ValidationError(str(wrong)) from wrong
