"""What is lacking in the wardrobe: seen among what is kept, added by a tap."""

from typing import Any
from uuid import uuid4

from django import forms
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from jobs.makes.ideas.actions import add_idea
from jobs.makes.models import Gap
from jobs.makes.undo import done
from jobs.makes.year import actions
from jobs.makes.year.sitting import wardrobe
from studio.shop.http import StudioRequest

NAMELESS = {
    Gap.Kind.TOP: "A top",
    Gap.Kind.TROUSERS: "Trousers",
    Gap.Kind.SKIRT: "A skirt",
    Gap.Kind.DRESS: "A dress",
    Gap.Kind.OVER: "Something over it",
    Gap.Kind.OTHER: "Something",
}
"""What a gap is called until the owner says it better."""


class GapForm(forms.Form):
    words = forms.CharField(label="What is it?", max_length=120)
    kind = forms.TypedChoiceField(label="Kind", choices=Gap.Kind.choices, coerce=Gap.Kind)
    days = forms.TypedChoiceField(label="For", choices=Gap.Days.choices, coerce=Gap.Days)


class EmptyPlaceForm(forms.Form):
    """An empty place of the wardrobe: ``top-cold``."""

    place = forms.ChoiceField(
        choices=[(f"{kind}-{days}", "") for kind in Gap.Kind for days in Gap.Days]
    )

    def missing(self) -> dict[str, Any]:
        kind, days = self.cleaned_data["place"].split("-")
        words = f"{NAMELESS[Gap.Kind(kind)]} for {Gap.Days(days).label.lower()}"
        return {"words": words, "kind": Gap.Kind(kind), "days": Gap.Days(days)}


class WordsForm(forms.Form):
    words = forms.CharField(max_length=120)


def gaps_page(request: StudioRequest, template: str, **facts: Any) -> HttpResponse:
    """The wardrobe on ``template``, or what was sent from it, and back to the page itself."""
    form, place = GapForm(), EmptyPlaceForm(request.POST)
    if request.method == "POST":
        if key := next((key for key in ("gone", "idea", "gap") if key in request.POST), None):
            return _changed(request, key)
        if place.is_valid():
            gap, _ = actions.miss(by=request.user, **place.missing())
            return redirect(f"{request.path}?at={gap.pk}#gap-{gap.pk}")
        form = GapForm(request.POST)
        if form.is_valid():
            _, entry = actions.miss(by=request.user, **form.cleaned_data)
            return done(request, entry, request.path)
    shown = {"form": form, "rows": wardrobe(), "days": list(Gap.Days), **facts}
    return render(request, template, shown | {"at": request.GET.get("at", "")})


def _changed(request: StudioRequest, key: str) -> HttpResponse:
    """Missing no more, to be made, or called otherwise."""
    pk = request.POST[key]
    gap = get_object_or_404(Gap, pk=pk if pk.isdecimal() and len(pk) < 10 else 0)
    form = WordsForm(request.POST)
    if key == "gone":
        return done(request, actions.miss_no_more(gap=gap, by=request.user), request.path)
    if key == "idea":
        with transaction.atomic():
            make, _ = add_idea(words=gap.words, form_key=uuid4(), by=request.user)
            entry = actions.fill(gap=gap, make=make, by=request.user)
        return done(request, entry, request.path)
    entry = None
    if form.is_valid():
        entry = actions.rename_gap(gap=gap, words=form.cleaned_data["words"], by=request.user)
    return done(request, entry, request.path)


@require_http_methods(["GET", "POST"])
def gaps(request: StudioRequest) -> HttpResponse:
    return gaps_page(request, "makes/gaps/gaps.html")
