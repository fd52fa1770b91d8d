"""Which facts win when two entries become one."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import Truncator

from clients.models import FACTS, MOST_NOTES, Client
from studio.shop.forms import Chips

MOST_SHOWN = 120


class MergeForm(forms.Form):
    """For each fact in which two entries differ: which one to keep."""

    def __init__(self, *args: Any, keep: Client, other: Client, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.keep, self.other = keep, other
        for name in FACTS:
            mine, theirs = getattr(keep, name), getattr(other, name)
            if mine != theirs:
                self.fields[name] = self._choice(name, mine, theirs)

    def _choice(self, name: str, mine: str, theirs: str) -> forms.ChoiceField:
        choices = [("keep", _shown(self.keep, name)), ("other", _shown(self.other, name))]
        initial = "keep" if mine else "other"
        if name == "notes" and mine and theirs:
            choices.append(("both", "Both, one below the other"))
            initial = "both"
        label = getattr(Client, name).field.verbose_name.capitalize()
        return forms.ChoiceField(
            label=label, choices=choices, initial=initial, widget=Chips, required=True
        )

    def clean_notes(self) -> str:
        side = self.cleaned_data["notes"]
        if side == "both" and len(self._notes()) > MOST_NOTES:
            raise ValidationError("Together the notes are too long. Choose one.", code="long")
        return side

    def _notes(self) -> str:
        return f"{self.keep.notes}\n{self.other.notes}"

    def facts(self) -> dict[str, str]:
        """The chosen value of every fact in which the two differ."""
        sides = {"keep": self.keep, "other": self.other}
        return {
            name: self._notes() if side == "both" else getattr(sides[side], name)
            for name, side in self.cleaned_data.items()
        }


def _shown(client: Client, name: str) -> str:
    shown = {"way": client.get_way_display, "country": lambda: client.country_name}
    value = shown[name]() if name in shown else getattr(client, name)
    return Truncator(value).chars(MOST_SHOWN) or "Nothing"
