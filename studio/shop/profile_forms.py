"""The profile: who the studio is, how it counts and measures, what it prints on."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from studio.shop import territory
from studio.shop.actions import CurrencyFixedError, check_currency
from studio.shop.forms import Chips, hour_input
from studio.shop.models import Profile

Choices = list[tuple[str, list[tuple[str, str]]]]


def zone_choices(country: str) -> Choices:
    """Every time zone, those of the country first."""
    zones = territory.zones_by_country()
    here = zones.get(country, [])
    rest = sorted({zone for found in zones.values() for zone in found} - set(here))
    label = territory.countries().get(country, "Here")
    return _grouped(label, here, rest, lambda zone: zone.replace("_", " "))


def currency_choices(country: str) -> Choices:
    """Every currency, those of the country first."""
    names = territory.currencies()
    here = [code for code in territory.in_use(country) if code in names]
    rest = [code for code in names if code not in here]
    label = territory.countries().get(country, "Here")
    return _grouped(label, here, rest, lambda code: f"{code} · {names[code]}")


def _grouped(label: str, here: list[str], rest: list[str], named: Any) -> Choices:
    groups = [(label, here), ("Elsewhere", rest)]
    return [(head, [(item, named(item)) for item in items]) for head, items in groups if items]


class ProfileForm(forms.ModelForm):
    """``country`` says which time zones and currencies are offered first."""

    country = forms.ChoiceField()
    time_zone = forms.ChoiceField(help_text="Days and promises follow this clock.")
    currency = forms.ChoiceField()

    class Meta:
        model = Profile
        fields = [
            "name", "street", "postcode", "city", "region", "country", "phone", "email",
            "language", "time_zone", "currency", "unit",
        ]  # fmt: skip
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "organization"}),
            "street": forms.TextInput(attrs={"autocomplete": "street-address"}),
            "postcode": forms.TextInput(attrs={"autocomplete": "postal-code"}),
            "city": forms.TextInput(attrs={"autocomplete": "address-level2"}),
            "region": forms.TextInput(attrs={"autocomplete": "address-level1"}),
            "phone": forms.TextInput(attrs={"autocomplete": "tel", "inputmode": "tel"}),
            "unit": Chips,
        }
        help_texts = {"language": "Numbers and dates follow the country."}

    def __init__(self, *args: Any, country: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = {
            "country": list(territory.countries().items()),
            "time_zone": zone_choices(country),
            "currency": currency_choices(country),
        }
        for name, choices in offered.items():
            self.fields[name].choices = choices  # type: ignore[attr-defined]
        for field in self.fields.values():
            field.show_optional = True  # type: ignore[attr-defined]

    def clean_currency(self) -> str:
        try:
            check_currency(self.cleaned_data["currency"])
        except CurrencyFixedError as error:
            raise ValidationError(str(error), code="fixed") from error
        return self.cleaned_data["currency"]


class SheetForm(forms.ModelForm):
    """Only the size of the sheet, as the first run asks for it."""

    class Meta:
        model = Profile
        fields = ["paper"]
        widgets = {"paper": Chips}


class PapersForm(forms.ModelForm):
    pay_days = forms.IntegerField(
        label="Days to pay",
        min_value=0,
        max_value=365,
        help_text="Printed on invoices that are not paid at once.",
    )

    class Meta:
        model = Profile
        fields = ["paper", "claim_paper", "tag_paper", "terms", "pay_days"]
        widgets = dict.fromkeys(("paper", "claim_paper", "tag_paper"), Chips)
        help_texts = {
            "tag_paper": "Plain card. Thermal paper turns black under the iron.",
            "terms": "For instance how long finished work is kept, and what is not answered for.",
        }


class PromiseForm(forms.ModelForm):
    """What the drop-off page suggests as the promise."""

    class Meta:
        model = Profile
        fields = ["lead_days", "promise_time"]
        widgets = {"promise_time": hour_input()}
