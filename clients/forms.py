"""What is asked of a client (only the name has to be known), and what is kept of two."""

import unicodedata
from functools import partial
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import Truncator

from clients.models import FACTS, MOST_NOTES, Client
from studio.shop.files import NOT_TEXT
from studio.shop.forms import Chips, ModelForm
from studio.shop.territory import countries
from studio.shop.text import digits
from studio.shop.words import language_name, languages, provided

FEWEST_DIGITS = 3
AS_STUDIO = "As the studio"
LINES = {"autocomplete": "off"}


def language_choices(kept: str = "") -> list[tuple[str, str]]:
    """None, those of the program, the owner's own, and the one that a client has. One query."""
    codes = dict.fromkeys([*languages(), *([kept] if kept else [])])
    return [("", AS_STUDIO), *((code, language_name(code)) for code in codes)]


class LanguageField(forms.ChoiceField):
    """What the program brings is known without asking the database, as for each row of a file."""

    def valid_value(self, value: str) -> bool:
        return value in provided() or super().valid_value(value)


class ClientForm(ModelForm):
    """A client's facts. What was typed stays on the page when something is wrong with it."""

    use_required_attribute = False
    country = forms.ChoiceField(
        choices=lambda: [("", AS_STUDIO), *countries().items()],
        required=False,
        error_messages={"invalid_choice": "Choose a country of the list."},
    )

    language = LanguageField(
        label="Language of papers",
        choices=language_choices,
        required=False,
        error_messages={"invalid_choice": "Choose a language of the list."},
    )

    class Meta:
        model = Client
        fields = FACTS
        widgets = {
            "name": forms.TextInput(attrs=LINES | {"dir": "auto", "autofocus": True}),
            "phone": forms.TextInput(attrs=LINES | {"type": "tel"}),
            "email": forms.EmailInput(attrs=LINES),
            "street": forms.TextInput(attrs=LINES | {"dir": "auto"}),
            "postcode": forms.TextInput(attrs=LINES),
            "city": forms.TextInput(attrs=LINES | {"dir": "auto"}),
            "vat_number": forms.TextInput(attrs=LINES),
            "tax_number": forms.TextInput(attrs=LINES),
            "way": Chips,
            "notes": forms.Textarea(attrs={"rows": 4, "dir": "auto"}),
        }
        error_messages = {
            "name": {"required": "Write a name, or a word you will know the client by."},
            "email": {"invalid": "Write an e-mail address such as mary@larkfield.example."},
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kept = self.instance.language
        if kept and kept not in provided():
            field = cast("LanguageField", self.fields["language"])
            field.choices = partial(language_choices, kept)

    def clean(self) -> dict[str, Any]:
        super().clean()
        return {
            name: NOT_TEXT.sub("", value) if isinstance(value, str) else value
            for name, value in self.cleaned_data.items()
        }

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        if all(unicodedata.category(letter)[0] in "CZ" for letter in name):
            raise ValidationError("Write a name that can be seen.", code="unseen")
        return name

    def clean_phone(self) -> str:
        phone: str = self.cleaned_data["phone"]
        if phone and len(digits(phone)) < FEWEST_DIGITS:
            raise ValidationError("Write a phone number, with its digits.", code="digits")
        return phone


class FindForm(forms.Form):
    """The box above the list."""

    q = forms.CharField(
        label="Name or phone",
        max_length=200,
        required=False,
        strip=True,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off", "dir": "auto"}),
    )


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
        side: str = self.cleaned_data["notes"]
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
    shown = {
        "way": client.get_way_display(),
        "country": client.country_name,
        "language": client.language_name,
    }
    return Truncator(shown.get(name, getattr(client, name))).chars(MOST_SHOWN) or "Nothing"
