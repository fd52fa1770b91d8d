"""What is asked of a client (only the name has to be known), and what is kept of two."""

import re
import unicodedata
from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING, Any, Self, cast

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.text import Truncator

from clients.models import (
    FACTS,
    LABELS,
    MOST_LABEL,
    MOST_NOTES,
    PLACE,
    Client,
    Contact,
    ContactFacts,
)
from studio.shop.files import NOT_TEXT
from studio.shop.forms import Chips, ModelForm
from studio.shop.territory import countries
from studio.shop.text import digits
from studio.shop.words import language_name, languages, provided

FEWEST_DIGITS = 3
AS_STUDIO = "As the studio"
LINES = {"autocomplete": "off"}
WHOSE = LINES | {"dir": "auto", "list": "whose"}
WIDE = LINES | {"dir": "auto"}
# What is offered beside a phone, an e-mail or an address; anything else can be written.
USUAL_LABELS = ("Home", "Mobile", "Work", "Mother", "Father", "Daughter", "Son", "Partner")
MOST_CONTACTS = 40


def language_choices(kept: str = "") -> list[tuple[str, str]]:
    """None, those of the program, the owner's own, and the one that a client has. One query."""
    codes = dict.fromkeys([*languages(), *([kept] if kept else [])])
    return [("", AS_STUDIO), *((code, language_name(code)) for code in codes)]


class LanguageField(forms.ChoiceField):
    """What the program brings is known without asking the database, as for each row of a file."""

    def valid_value(self, value: str) -> bool:
        return value in provided() or super().valid_value(value)


ROUNDED = re.compile(r"\s*[+-]?\d+([.,]\d+)?e\+?\d+\s*", re.IGNORECASE)


def checked_phone(phone: str) -> str:
    """Raises ValidationError for what has no number in it, or one that a spreadsheet has cut."""
    if ROUNDED.fullmatch(phone):
        raise ValidationError(
            "A spreadsheet has rounded this number: write it with all its digits.", code="rounded"
        )
    if phone and len(digits(phone)) < FEWEST_DIGITS:
        raise ValidationError("Write a phone number, with its digits.", code="digits")
    return phone


class CountryField(forms.ChoiceField):
    """The list is not gone through for each row of a file."""

    def valid_value(self, value: str) -> bool:
        return value in countries()


def country_field() -> forms.ChoiceField:
    return CountryField(
        choices=lambda: [("", AS_STUDIO), *countries().items()],
        required=False,
        error_messages={"invalid_choice": "Choose a country of the list."},
    )


class ClientForm(ModelForm):
    """A client's facts. What was typed stays on the page when something is wrong with it."""

    use_required_attribute = False
    country = country_field()
    language = LanguageField(
        label="Language of papers",
        choices=language_choices,
        required=False,
        error_messages={"invalid_choice": "Choose a language of the list."},
    )

    class Meta:
        model = Client
        fields = FACTS
        labels = {"legal_name": "Invoices made out to"}
        widgets = {
            "name": forms.TextInput(attrs=LINES | {"dir": "auto", "autofocus": True}),
            "who": Chips,
            "legal_name": forms.TextInput(attrs=LINES | {"dir": "auto"}),
            "contact_person": forms.TextInput(attrs=LINES | {"dir": "auto"}),
            **{name: forms.TextInput(attrs=WHOSE) for name in LABELS},
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
        return checked_phone(self.cleaned_data["phone"])


class _Shared(dict[str, forms.Field]):
    """Fields that each form of a class has in common: nothing about one is changed by a form."""

    def __deepcopy__(self, memo: dict[int, Any]) -> Self:
        return self


class RowClientForm(ClientForm):
    """The same for each of 20,000 rows of a file, six times as quick: its fields are not copied,
    and what they have checked is not checked again by an entry that is not kept."""

    def _post_clean(self) -> None:
        pass


# The class of forms makes its fields itself.
RowClientForm.base_fields = _Shared(RowClientForm.base_fields)


class ContactForm(forms.Form):
    """One more phone, e-mail or address. Emptied, it goes.

    Its kind is that of the fields that the row has, on the page and in what comes back.
    """

    use_required_attribute = False
    label = forms.CharField(
        label="Whose", max_length=MOST_LABEL, required=False, widget=forms.TextInput(attrs=WHOSE)
    )
    phone = forms.CharField(
        max_length=40, required=False, widget=forms.TextInput(attrs=LINES | {"type": "tel"})
    )
    email = forms.EmailField(
        label="E-mail", required=False, widget=forms.EmailInput(attrs=LINES),
        error_messages={"invalid": "Write an e-mail address such as mary@larkfield.example."},
    )  # fmt: skip
    street = forms.CharField(max_length=200, required=False, widget=forms.TextInput(attrs=WIDE))
    postcode = forms.CharField(max_length=20, required=False, widget=forms.TextInput(attrs=LINES))
    city = forms.CharField(
        label="Town", max_length=100, required=False, widget=forms.TextInput(attrs=WIDE)
    )
    country = country_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        named = self.initial if not self.is_bound else self.data
        whole = {self.add_prefix(name): name for name in ("phone", "email")}
        names = {whole.get(name, name) for name in named if name in whole or not self.is_bound}
        self.kind = next((kind for kind in ("phone", "email") if kind in names), "address")
        stays = {"label", *(PLACE if self.kind == "address" else (self.kind,))}
        for name in [name for name in self.fields if name not in stays]:
            del self.fields[name]

    def clean_phone(self) -> str:
        return checked_phone(self.cleaned_data["phone"])

    @property
    def is_empty(self) -> bool:
        """Whether nothing stands in the row, typed or kept."""
        return not any(field.value() for field in self)

    @property
    def facts(self) -> ContactFacts:
        kept = {name: NOT_TEXT.sub("", value).strip() for name, value in self.cleaned_data.items()}
        if self.kind != "address":
            kept["value"] = kept.pop(self.kind)
        return ContactFacts(self.kind, **kept)


ROW = re.compile(r"-(\d{1,4})-", re.ASCII)

if TYPE_CHECKING:
    ContactSet = forms.BaseFormSet[ContactForm]
else:
    ContactSet = forms.BaseFormSet


class ContactRows(ContactSet):
    """What a client has besides the first of each kind, and room for one more of each.

    A page that was sent without them leaves them as they are: ``contacts`` is None.
    """

    def is_valid(self) -> bool:
        return not self.is_bound or super().is_valid()

    def total_form_count(self) -> int:
        """No more than rows were sent, whatever number stands beside them."""
        count: int = super().total_form_count()
        if not self.is_bound:
            return count
        numbers = (ROW.match(name.removeprefix(str(self.prefix))) for name in self.data)
        return min(count, max((int(each[1]) + 1 for each in numbers if each), default=0))

    @property
    def contacts(self) -> list[ContactFacts] | None:
        if not self.is_bound:
            return None
        rows = [row.facts for row in self.forms]
        return [facts for facts in rows if facts.value or any(facts.place)]


def contact_rows(data: QueryDict | None, client: Client | None = None) -> ContactRows:
    """The rows as they stand, phones first, with an empty one of each kind behind them."""
    rows = list(client.contacts.all()) if client else []
    initial: list[dict[str, str]] = []
    for kind in Contact.Kind.values:
        for row in [*(row for row in rows if row.kind == kind), Contact(kind=kind)]:
            place = {name: getattr(row, name) for name in PLACE}
            value = place if kind == Contact.Kind.ADDRESS else {kind: row.value}
            initial.append({"label": row.label} | value)
    made = forms.formset_factory(
        ContactForm, formset=ContactRows, extra=0, max_num=MOST_CONTACTS, absolute_max=MOST_CONTACTS
    )
    if data is not None and "more-TOTAL_FORMS" not in data:
        data = None
    return cast("ContactRows", made(data, initial=initial, prefix="more"))


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
    """For each fact in which two entries differ: which one to keep. What the ``first`` of them
    says is proposed, where it says something."""

    def __init__(
        self, *args: Any, keep: Client, other: Client, first: Client | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.keep, self.other, self.first = keep, other, first or keep
        for name in FACTS:
            if name in LABELS:
                continue
            mine, theirs = getattr(keep, name), getattr(other, name)
            if mine != theirs:
                self.fields[name] = self._choice(name, mine, theirs)

    def _choice(self, name: str, mine: str, theirs: str) -> forms.ChoiceField:
        choices = [("keep", _shown(self.keep, name)), ("other", _shown(self.other, name))]
        if self.first == self.other:
            initial = "other" if theirs else "keep"
        else:
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
        return self._facts(self.cleaned_data)

    def usual_facts(self) -> dict[str, str]:
        """The same as it is proposed, before anything was chosen."""
        return self._facts({name: str(field.initial) for name, field in self.fields.items()})

    def _facts(self, chosen: Mapping[str, str]) -> dict[str, str]:
        sides = {"keep": self.keep, "other": self.other}
        facts = {
            name: self._notes() if side == "both" else getattr(sides[side], name)
            for name, side in chosen.items()
        }
        # Whose the phone is goes with the phone; of two that are one, what is known stays.
        for label, name in LABELS.items():
            holder = sides[chosen.get(name, "keep")]
            known = getattr(holder, label)
            if name not in chosen and not known:
                known = getattr(self.other, label)
            if known != getattr(self.keep, label):
                facts[label] = known
        return facts


def _shown(client: Client, name: str) -> str:
    shown = {
        "way": client.get_way_display(),
        "country": client.country_name,
        "language": client.language_name,
        "who": client.get_who_display(),
    }
    return Truncator(shown.get(name, getattr(client, name))).chars(MOST_SHOWN) or "Nothing"
