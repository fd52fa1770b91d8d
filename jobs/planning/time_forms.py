"""What the bench clock is told."""

from typing import Any

from django import forms

from jobs.planning.actions.bench_time import MOST
from jobs.planning.models import BenchTime

LINE = "line-"


class StartForm(forms.Form):
    """An operation, or a purpose of one's own."""

    line = forms.IntegerField(required=False, min_value=1)
    purpose = forms.ChoiceField(choices=BenchTime.Purpose, required=False)

    def clean_purpose(self) -> str:
        return self.cleaned_data["purpose"] or BenchTime.Purpose.CLIENT


class StopForm(forms.Form):
    minutes = forms.IntegerField(
        required=False,
        min_value=0,
        error_messages={
            "invalid": "Write the minutes as a number.",
            "min_value": "Write minutes from 0 up.",
        },
    )
    done = forms.BooleanField(required=False)


class CatchUpForm(forms.Form):
    """Minutes by operation, in fields such as ``line-12``, and of own sewing until ``at``."""

    own = forms.IntegerField(required=False, min_value=1, max_value=MOST)
    at = forms.DateTimeField(required=False)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        found["lines"] = dict(self._lines())
        return found

    def _lines(self):
        each = forms.IntegerField(required=False, min_value=1, max_value=MOST)
        for name, value in self.data.items():
            key = name.removeprefix(LINE)
            if name.startswith(LINE) and key.isdecimal():
                try:
                    minutes = each.clean(value)
                except forms.ValidationError as wrong:
                    self.add_error(None, wrong)
                else:
                    if minutes:
                        yield int(key), minutes
