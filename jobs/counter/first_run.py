"""The first run: the studio's own part and, if wanted, the starting price list, all or nothing."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.db import transaction

from jobs.pricing.actions import load_starting_list
from studio.shop import actions, territory
from studio.shop.models import User
from studio.shop.settings_forms import FirstTaxForm, OwnerForm, PaperSizeForm, ProfileForm, WeekForm

FULL_DAY = 8 * 60


class CountryForm(forms.Form):
    """The first question: what a country makes likely fills the rest of the page."""

    country = forms.ChoiceField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["country"].choices = list(territory.countries().items())  # type: ignore[attr-defined]


class ListForm(forms.Form):
    starting_list = forms.BooleanField(
        required=False, label="Start with a price list of common operations"
    )


class FirstRun:
    """The sections of the set-up page, filled with what the country makes likely."""

    failed = False

    def __init__(self, country: str, data: Any = None) -> None:
        likely = territory.likely(country)
        today = datetime.now(ZoneInfo(likely.time_zone)).date()
        guess = {
            name: getattr(likely, name) for name in ("country", "time_zone", "currency", "unit")
        }
        self.profile = ProfileForm(data, initial=guess, country=country)
        self.sheet = PaperSizeForm(data, initial={"paper": likely.paper})
        self.tax = FirstTaxForm(data, mode=likely.tax_mode, tax_name=likely.tax_name, today=today)
        open_days = set(range(7)) - likely.weekend
        self.days = WeekForm(data, minutes=dict.fromkeys(open_days, FULL_DAY))
        self.owner = OwnerForm(data)
        self.price_list = ListForm(data, initial={"starting_list": True})

    @property
    def sections(self) -> list[Any]:
        return [self.profile, self.sheet, self.tax, self.days, self.owner, self.price_list]

    def is_valid(self) -> bool:
        checked = [section.is_valid() for section in self.sections]
        self.failed = not all(checked)
        return not self.failed

    def open_studio(self) -> User:
        """Set up what was filled in; the owner is returned. Raises AlreadySetUpError."""
        tax = self.tax.cleaned_data
        own = {name: tax[name] for name in ("tax_mode", "tax_number")}
        login = self.owner.cleaned_data
        profile = self.profile.cleaned_data | self.sheet.cleaned_data | own
        with transaction.atomic():
            owner = actions.set_up(
                profile=profile,
                **self.tax.facts(),
                week=self.days.week(),
                username=login["username"],
                first_name=login["first_name"],
                password=login["password1"],
            )
            if self.price_list.cleaned_data["starting_list"]:
                load_starting_list(by=owner)
        return owner
