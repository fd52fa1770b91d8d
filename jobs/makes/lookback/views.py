"""Two ideas to choose between, and where the look back is by now."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods

from jobs.makes.ideas.queries import face_of
from jobs.makes.lookback import actions, queries
from jobs.makes.lookback.actions import LOOKED_AT
from jobs.makes.models import Make
from jobs.makes.undo import done
from jobs.makes.year.seasons import season_of
from jobs.makes.year.sitting import Act, stamp
from studio.shop import clock
from studio.shop.http import StudioRequest


class PairForm(forms.Form):
    """``rather`` is the one chosen of ``one`` and ``other``; without it neither is."""

    one = forms.ModelChoiceField(Make.objects.filter(state__in=LOOKED_AT))
    other = forms.ModelChoiceField(Make.objects.filter(state__in=LOOKED_AT))
    rather = forms.IntegerField(required=False)
    passed = forms.IntegerField(required=False, min_value=0, max_value=100_000)

    def clean(self) -> dict[str, Any]:
        sent = super().clean() or {}
        first, other, rather = sent.get("one"), sent.get("other"), sent.get("rather")
        if first and other and (first == other or rather not in {None, first.pk, other.pk}):
            raise forms.ValidationError("Choose one of the two.")
        return sent


class PassedForm(forms.Form):
    passed = forms.IntegerField(required=False, min_value=0, max_value=100_000)


def look_back(request: StudioRequest, pk: int | None = None) -> HttpResponse:
    """Ideas are looked through in the sitting, at any time anew; earlier they had pages of their
    own, whose addresses all lead there. What an old page still sends is asked again.
    """
    year = season_of(clock.today(), request.studio.winter_begins).year
    round_ = urlencode({"since": stamp(clock.now())})
    return redirect(f"{reverse('sitting-act', args=[year, Act.IDEAS.value])}?{round_}")


@require_http_methods(["GET", "POST"])
def pairs(request: StudioRequest) -> HttpResponse:
    """Rather this, rather that, or neither."""
    if request.method == "POST":
        return _chosen(request)
    form = PassedForm(request.GET)
    passed = (form.is_valid() and form.cleaned_data["passed"]) or 0
    two = [(make, face_of(make)) for make in queries.next_two(passed) or ()]
    shown = {"two": two, "passed": passed, "wanted": queries.most_wanted()}
    return render(request, "makes/lookback/pairs.html", shown)


def _chosen(request: StudioRequest) -> HttpResponse:
    form = PairForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Choose one of the two, or neither.")
        return redirect("look-back-pairs")
    sent = form.cleaned_data
    passed, entry = sent["passed"] or 0, None
    if sent["rather"] is None:
        passed += 1
    else:
        rather, other = sent["one"], sent["other"]
        if rather.pk != sent["rather"]:
            rather, other = other, rather
        entry = actions.choose(rather=rather, other=other, by=request.user)
    return done(request, entry, f"{reverse('look-back-pairs')}?passed={passed}")
