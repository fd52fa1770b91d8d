"""What is asked about the owner's hours."""

from datetime import date
from typing import Any

from django import forms

from jobs.planning.models import PlanRules
from studio.shop.forms import HoursField
from studio.shop.locales import show_day


class RulesForm(forms.ModelForm):
    """How the week is planned."""

    class Meta:
        model = PlanRules
        fields = ["own_percent", "lost_percent", "min_piece"]
        labels = {
            "own_percent": "My share of every week, in %",
            "lost_percent": "Bench time lost to the door and the phone, in %",
            "min_piece": "Shortest sitting, in minutes",
        }
        help_texts = {
            "own_percent": "Of all bench hours of the week; 30 from the start. It is planned "
            "like a promise to a client.",
            "lost_percent": "That much of every stretch at the bench is not counted on: the "
            "door, the phone, threading and tidying.",
            "min_piece": "Work is not cut into pieces shorter than this unless it must be.",
        }


class OwnWeeksForm(forms.Form):
    """One field for each of the coming weeks; an empty one goes back to the usual share."""

    def __init__(
        self, *args: Any, mondays: list[date], chosen: dict[date, int], locale: str, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.mondays = mondays
        for monday in mondays:
            self.fields[monday.isoformat()] = HoursField(
                week=True,
                label=f"Hours of the week of {show_day(monday, locale, year=False)}",
                initial=chosen.get(monday),
            )

    def minutes(self) -> dict[date, int | None]:
        """The minutes of each week, None for the usual share."""
        return {monday: self.cleaned_data[monday.isoformat()] for monday in self.mondays}

    def field_of(self, monday: date) -> forms.BoundField:
        return self[monday.isoformat()]
