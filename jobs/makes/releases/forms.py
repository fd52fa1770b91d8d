"""What a release and the rows on it are asked for. Hardly anything is needed."""

from typing import Any

from django import forms

from jobs.makes.ideas.forms import PastDayField
from jobs.makes.models import Cost, Erratum, Release, Stage, Tester
from jobs.makes.pictures import PictureField
from studio.shop import clock
from studio.shop.forms import (
    HoursField,
    ModelForm,
    MoneyField,
    OnceForm,
    PercentField,
    StudioFormMixin,
    day_input,
)


class ReleaseForm(ModelForm):
    photo = PictureField(label="Photograph", required=False)
    published_on = PastDayField(label="Published on", required=False)

    class Meta:
        model = Release
        fields = ["name", "note", "target_on", "published_on"]
        widgets = {"target_on": day_input()}
        labels = {"target_on": "Hoped for by"}
        help_texts = {"target_on": "Only a wish. It may pass, and nothing happens."}


class ReleaseMoneyForm(StudioFormMixin, ModelForm):
    price = MoneyField(
        label="Price of a copy", required=False, help_text="Without the tax you pass on."
    )
    fee_percent = PercentField(label="Kept by the shop, %", required=False, most=100)
    fee_amount = MoneyField(label="Fixed fee of each sale", required=False)
    rate = MoneyField(label="An hour of mine is worth", required=False)

    class Meta:
        model = Release
        fields = ["price", "fee_percent", "fee_amount", "rate"]

    def clean_fee_percent(self) -> Any:
        return self.cleaned_data["fee_percent"] or 0

    def clean_fee_amount(self) -> int:
        return self.cleaned_data["fee_amount"] or 0


class StageForm(ModelForm):
    minutes = HoursField(week=True, label="Hours it will take", help_text="Such as 4 or 4:30.")

    class Meta:
        model = Stage
        fields = ["name", "minutes"]

    def clean_minutes(self) -> int:
        return self.cleaned_data["minutes"] or 0


class TesterForm(ModelForm):
    sent_on = PastDayField(label="Pattern sent on", required=False)
    back_on = PastDayField(label="Answered on", required=False)

    class Meta:
        model = Tester
        fields = ["name", "size", "sent_on", "back_on", "report"]
        labels = {"report": "What was reported"}


class ErratumForm(ModelForm):
    found_on = PastDayField(label="Found on", initial=clock.today)
    mended_on = PastDayField(label="Put right on", required=False)

    class Meta:
        model = Erratum
        fields = ["words", "found_on", "mended_on"]


class CostForm(StudioFormMixin, ModelForm):
    amount = MoneyField()
    day = PastDayField(initial=clock.today)

    class Meta:
        model = Cost
        fields = ["words", "amount", "day"]


class SaleForm(OnceForm):
    """Copies sold on a day, and what was left of them after fees."""

    day = PastDayField(initial=clock.today)
    copies = forms.IntegerField(
        min_value=-9999, max_value=9999, widget=forms.TextInput(attrs={"inputmode": "numeric"})
    )
    net = MoneyField(
        negative=True, label="Without tax", help_text="After fees, all copies together."
    )
