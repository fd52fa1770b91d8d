"""What a release and the rows on it are asked for. Hardly anything is needed."""

from collections.abc import Iterable
from typing import Any

from django import forms

from jobs.makes.ideas.forms import PastDayField
from jobs.makes.models import Cost, Erratum, Make, MakeState, Release, Stage, Tester
from jobs.makes.pickers import PatternPicker
from jobs.makes.pictures import PictureField, PicturesField
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
    pattern = PatternPicker(label="Its pattern in the drawer")
    published_on = PastDayField(label="Published on", required=False)

    class Meta:
        model = Release
        fields = ["name", "note", "pattern", "sizes", "target_on", "published_on"]
        widgets = {"target_on": day_input()}
        labels = {"target_on": "Hoped for by"}
        help_texts = {
            "target_on": "Only a wish. It may pass, and nothing happens.",
            "sizes": "Such as 34-52, or XS S M L. Left empty, those of its pattern.",
        }


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
    photo = PictureField(label="Picture of it", required=False)

    class Meta:
        model = Stage
        fields = ["name", "minutes"]

    def clean_minutes(self) -> int:
        return self.cleaned_data["minutes"] or 0


class GuessesForm(forms.Form):
    """The guesses of all stages in one table, and which of them are done."""

    def __init__(self, data: Any = None, *, stages: Iterable[Stage]) -> None:
        super().__init__(data)
        self.stages = list(stages)
        for stage in self.stages:
            guess = HoursField(week=True, label=f"Guess for {stage}")
            self.fields[f"stage-{stage.pk}"] = guess
            self.initial[f"stage-{stage.pk}"] = stage.minutes or None
            done = forms.BooleanField(label=f"Done: {stage}", required=False)
            self.fields[f"done-{stage.pk}"] = done
            self.initial[f"done-{stage.pk}"] = stage.done_at is not None

    def facts(self) -> dict[str, Any]:
        """What the action takes."""
        sent = self.cleaned_data
        keys = [stage.pk for stage in self.stages]
        return {
            "guesses": {pk: sent[f"stage-{pk}"] or 0 for pk in keys},
            "done": {pk for pk in keys if sent[f"done-{pk}"]},
        }


class BelongsForm(forms.Form):
    """A make that shows the release, photographs of it, or both."""

    sample = forms.ModelChoiceField(
        Make.objects.exclude(state=MakeState.LET_GO).exclude(words="").order_by("words"),
        label="A sample, sewn of it", required=False, empty_label="None",
    )  # fmt: skip
    photos = PicturesField(label="Photographs", required=False)

    def clean(self) -> dict[str, Any]:
        sent = super().clean() or {}
        if not self.errors and not sent.get("sample") and not sent.get("photos"):
            self.add_error("sample", "Choose a make, or a photograph.")
        return sent


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
