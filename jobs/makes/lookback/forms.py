"""What the buttons of the look back send."""

from datetime import UTC, datetime
from typing import Any

from django import forms

from jobs.makes.lookback.actions import LOOKED_AT
from jobs.makes.models import Look, Make
from studio.shop import clock

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
        told = super().clean() or {}
        one, other, rather = told.get("one"), told.get("other"), told.get("rather")
        if one and other and (one == other or rather not in {None, one.pk, other.pk}):
            raise forms.ValidationError("Choose one of the two.")
        return told


class PassedForm(forms.Form):
    passed = forms.IntegerField(required=False, min_value=0, max_value=100_000)


def stamp(moment: datetime) -> int:
    """A sitting's beginning as it travels: milliseconds since 1970."""
    return round(moment.timestamp() * 1000)
