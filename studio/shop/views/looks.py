"""The components of the stylesheet, shown together for developers."""

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from studio.shop.access import owner_only
from studio.shop.forms import Chips
from studio.shop.http import StudioRequest


class SampleForm(forms.Form):
    """One field of each kind; the sample is sent with errors, so that they are seen."""

    name = forms.CharField(help_text="A hint stands below the field it speaks of.")
    day = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}))
    kind = forms.ChoiceField(
        label="Chips", widget=Chips, choices=[("total", "Total"), ("each", "Each side")]
    )
    told = forms.BooleanField(label="A tick", required=False)
    note = forms.CharField(widget=forms.Textarea, required=False)


STATES = ["received", "in_work", "ready", "collected", "cancelled"]


@owner_only
@require_GET
def looks(request: StudioRequest) -> HttpResponse:
    form = SampleForm({"name": "", "day": "soon", "kind": "each", "note": "Typed text stays."})
    return render(request, "shop/looks.html", {"form": form, "states": STATES})
