"""Taxes: how they are charged, which kinds there are, and which rate holds from when."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from studio.shop import clock
from studio.shop.actions import NamedRate
from studio.shop.forms import Chips, PercentField, day_input
from studio.shop.models import Profile, TaxClass, TaxRate
from studio.shop.taxes import TaxError, tax_for

ROWS = ["first", "second", "third"]


class TaxRowForm(forms.Form):
    """One named rate. In the first run a row may stay empty; it is then not used."""

    needed = False

    name = forms.CharField(max_length=60, required=False)
    percent = PercentField(most=100, required=False, label="Rate in %")
    valid_from = forms.DateField(label="Holds from", widget=day_input())
    exempt = forms.BooleanField(required=False, label="Exempt from tax")
    sentence = forms.CharField(max_length=300, required=False, label="Sentence printed when exempt")

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        percent, exempt = found.get("percent"), found.get("exempt")
        if exempt and percent:
            self.add_error("percent", "An exempt kind of work has no rate.")
        if (exempt or percent is not None) and not found.get("name") and "name" not in self.errors:
            self.add_error("name", "Give this rate a name.")
        if self.needed and not exempt and percent is None and "percent" not in self.errors:
            self.add_error("percent", "Write the rate, or tick “exempt”.")
        return found

    @property
    def used(self) -> bool:
        return self.cleaned_data["exempt"] or self.cleaned_data["percent"] is not None

    def named_rate(self) -> NamedRate:
        return NamedRate(**self.cleaned_data)


class NewTaxForm(TaxRowForm):
    """A further kind of tax, with its first rate."""

    needed = True

    def clean_name(self) -> str:
        if TaxClass.objects.filter(name=self.cleaned_data["name"]).exists():
            raise ValidationError("There is a tax of this name already.")
        return self.cleaned_data["name"]


class FirstTaxForm(forms.Form):
    """How the first run charges tax, together with up to three ``TaxRowForm`` rows."""

    tax_mode = forms.ChoiceField(label="Tax", choices=Profile.TaxMode.choices, widget=Chips)
    tax_number = forms.CharField(max_length=40, required=False, label="Your tax number")
    worn = forms.ChoiceField(
        label="Worn garments", choices=[(name, name) for name in ROWS], widget=Chips
    )
    new = forms.ChoiceField(
        label="New, never worn garments",
        choices=[(name, name) for name in ROWS],
        widget=Chips,
    )

    def __init__(self, data: Any = None, *, mode: str, tax_name: str, today: date) -> None:
        super().__init__(data, initial={"tax_mode": mode, "worn": "first", "new": "first"})
        names = dict.fromkeys(ROWS, "") | {"first": tax_name}
        self.rows = [
            TaxRowForm(data, prefix=row, initial={"name": names[row], "valid_from": today})
            for row in ROWS
        ]

    def is_valid(self) -> bool:
        parts = [super().is_valid(), *[row.is_valid() for row in self.rows]]
        return all(parts) and self._agree()

    def _agree(self) -> bool:
        """Names differ, and the rates that garments point to are there."""
        names = [row.cleaned_data["name"] for row in self.rows if row.used]
        for row in self.rows:
            if row.used and names.count(row.cleaned_data["name"]) > 1:
                row.add_error("name", "Two rates need two names.")
        if self.cleaned_data["tax_mode"] != Profile.TaxMode.NONE:
            for choice in {self.cleaned_data["worn"], self.cleaned_data["new"]}:
                row = self.rows[ROWS.index(choice)]
                if not row.used:
                    row.add_error("percent", "Write the rate, or choose “No tax” above.")
        return not any(row.errors for row in self.rows)

    def facts(self) -> dict[str, Any]:
        """What ``actions.set_up`` takes: ``taxes``, ``worn_tax`` and ``new_tax``."""
        used = [name for name, row in zip(ROWS, self.rows, strict=True) if row.used]
        places = {name: place for place, name in enumerate(used)}
        return {
            "taxes": [row.named_rate() for row in self.rows if row.used],
            "worn_tax": places.get(self.cleaned_data["worn"]),
            "new_tax": places.get(self.cleaned_data["new"]),
        }


class TaxModeForm(forms.ModelForm):
    class Meta:
        model = Profile
        fields = ["tax_mode", "worn_tax", "new_tax", "tax_number", "invoice_sentence"]
        widgets = {"tax_mode": Chips}
        help_texts = {"invoice_sentence": "Printed on every invoice, whatever the tax."}

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if "tax_mode" not in found:
            return found
        for wear, name in (("worn", "worn_tax"), ("new", "new_tax")):
            asked = Profile(**{key: found.get(key) for key in ("tax_mode", name)})
            try:
                tax_for(asked, wear, clock.today())
            except TaxError as error:
                self.add_error(name, str(error))
        return found


class TaxClassForm(forms.ModelForm):
    class Meta:
        model = TaxClass
        fields = ["name", "exempt", "sentence"]
        labels = {"exempt": "Exempt from tax"}


class TaxRateForm(forms.ModelForm):
    percent = PercentField(most=100, label="Rate in %")

    class Meta:
        model = TaxRate
        fields = ["percent", "valid_from"]
        labels = {"valid_from": "Holds from"}
        widgets = {"valid_from": day_input()}
