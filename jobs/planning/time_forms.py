"""What the bench clock is told."""

from collections.abc import Iterator
from typing import Any

from django import forms

from jobs.planning.actions.bench_time import MOST
from jobs.planning.models import BenchTime


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


def _minutes() -> forms.IntegerField:
    """Minutes of one sitting, or none."""
    between = f"Write minutes between 1 and {MOST}."
    wrong = {
        "invalid": "Write the minutes as a whole number.",
        "min_value": between,
        "max_value": between,
    }
    return forms.IntegerField(required=False, min_value=1, max_value=MOST, error_messages=wrong)


class CatchUpForm(forms.Form):
    """Minutes by operation, and of own sewing until ``at``: offered ones, or others typed.

    Those of operation 12 are in ``line-12`` and ``typed-12``.
    """

    own = _minutes()
    own_typed = _minutes()
    at = forms.DateTimeField(required=False)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        found["own"] = found.get("own_typed") or found.get("own")
        found["lines"] = dict(self._lines("line-")) | dict(self._lines("typed-"))
        return found

    def _lines(self, prefix: str) -> Iterator[tuple[int, int]]:
        each = _minutes()
        for name, value in self.data.items():
            key = name.removeprefix(prefix)
            if name.startswith(prefix) and key.isdecimal():
                try:
                    minutes = each.clean(value)
                except forms.ValidationError as wrong:
                    self.add_error(None, wrong)
                else:
                    if minutes:
                        yield int(key), minutes
