"""What the bench clock is told."""

from collections.abc import Iterator
from typing import Any

from django import forms

from jobs.planning.actions.bench_time import MOST
from jobs.planning.models import BenchTime


class StartForm(forms.Form):
    """An operation, a make, a stage of a release, or a purpose of one's own."""

    line = forms.IntegerField(required=False, min_value=1)
    make = forms.IntegerField(required=False, min_value=1)
    stage = forms.IntegerField(required=False, min_value=1)
    purpose = forms.ChoiceField(choices=BenchTime.Purpose, required=False)

    def clean(self) -> dict[str, Any]:
        """What is worked on says what for; it is one thing at a time."""
        found = super().clean() or {}
        if sum(bool(found.get(name)) for name in ("line", "make", "stage")) > 1:
            raise forms.ValidationError("The clock runs for one thing at a time.")
        if found.get("make"):
            found["purpose"] = BenchTime.Purpose.OWN
        elif found.get("stage"):
            found["purpose"] = BenchTime.Purpose.RELEASE
        elif found.get("line") or not found.get("purpose"):
            found["purpose"] = BenchTime.Purpose.CLIENT
        return found


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
    """Minutes by operation, and of own sewing until ``at``, on a ``make`` or on none.

    They are offered ones, or others typed: of operation 12 in ``line-12`` and ``typed-12``.
    """

    own = _minutes()
    own_typed = _minutes()
    make = forms.IntegerField(required=False, min_value=1)
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
