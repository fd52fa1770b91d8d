"""The look back: one card, three answers, the next card; and two cards to choose between."""

from datetime import UTC, datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.ideas.actions import MakeError
from jobs.makes.ideas.queries import face_of, freed_by
from jobs.makes.lookback import actions, queries
from jobs.makes.lookback.actions import LOOKED_AT
from jobs.makes.models import Look, Make
from jobs.makes.undo import done, take_back
from studio.shop import clock
from studio.shop.http import StudioRequest

EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)


class SittingForm(forms.Form):
    """Where a sitting stands: when it began, in milliseconds since 1970, and which card is first.

    A time that is none, or not yet, begins a new sitting.
    """

    since = forms.IntegerField(required=False)
    first = forms.IntegerField(required=False, min_value=1)

    def began(self) -> datetime:
        since = self.cleaned_data.get("since")
        now = clock.now()
        if since is None or not EARLIEST.timestamp() * 1000 <= since <= now.timestamp() * 1000:
            return now
        return datetime.fromtimestamp(since / 1000, UTC)


class AnswerForm(SittingForm):
    answer = forms.TypedChoiceField(choices=Look.Answer.choices, coerce=Look.Answer)


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


def stamp(moment: datetime) -> int:
    """A sitting's beginning as it travels: milliseconds since 1970."""
    return round(moment.timestamp() * 1000)


@require_GET
def look_back(request: StudioRequest) -> HttpResponse:
    """The next card of the sitting that the address names, else the first of a new one."""
    form = SittingForm(request.GET)
    form.is_valid()
    since = form.began()
    make = queries.next_card(since, first=form.cleaned_data.get("first"))
    if make is None:
        shown: dict[str, Any] = {"let_go": queries.let_go_in(since)}
        return render(request, "makes/lookback/done.html", shown)
    shown = {"make": make, "picture": face_of(make), "since": stamp(since)}
    return render(request, "makes/lookback/card.html", shown)


@require_POST
def answer(request: StudioRequest, pk: int) -> HttpResponse:
    make = get_object_or_404(Make, pk=pk)
    form = AnswerForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Answer with one of the three buttons.")
        return redirect(_next(SittingForm(request.POST)))
    since, given = form.began(), form.cleaned_data["answer"]
    try:
        entry = actions.answer(make=make, answer=given, since=since, by=request.user)
    except MakeError as wrong:
        messages.error(request, str(wrong))
        return redirect(_next(form))
    to, undo = _next(form), reverse("look-undo")
    return done(request, entry, to, undo=undo, aside=freed_by(entry), since=stamp(since))


@require_POST
def undo(request: StudioRequest) -> HttpResponse:
    """The last answer is taken back, and its card is shown again."""
    form = SittingForm(request.POST)
    if entry := take_back(request, request.POST.get("entry")):
        return redirect(_next(form, first=entry.subjects.get().row))
    return redirect(_next(form))


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


def _next(form: SittingForm, **more: int) -> str:
    """The address of the next card of the sitting."""
    form.is_valid()
    return f"{reverse('look-back')}?{urlencode({'since': stamp(form.began()), **more})}"
