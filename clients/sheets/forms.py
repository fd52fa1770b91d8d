"""A measurement sheet as it is typed, the day of a trend, and the owner's ranges."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField

from clients.fields import HeelField, LengthField, unit_of
from clients.fit.changes import Taking
from clients.fit.known import LAST_WEEK, week_on
from clients.fit.lengths import Length, show_length
from clients.fit.measures import (
    MEASURES,
    SIDES,
    BodyMeasure,
    Measures,
    Range,
    Spot,
    spot_name,
    spots,
)
from clients.models import Client, Sheet
from studio.shop import clock
from studio.shop.files import NOT_TEXT
from studio.shop.forms import Chips, StudioFormMixin, day_input
from studio.shop.locales import show_day
from studio.shop.models import Profile

NOTE_HINT = (
    "About fit only. What tells of health, such as an operation or a prosthesis, "
    "is better left out; write it only if the client agreed to that too, and tick the box below."
)


# The sheet's columns that the form has under the same names.
COLUMNS = (
    "taken_on", "worn", "waist_at", "front_from", "consent_on", "minor", "born", "guardian",
    "note", "sensitive", "pregnant", "week",
)  # fmt: skip
HEALTH = ("pregnant", "week")  # what only who may read of health is shown and asked


OLDEST = 21  # years of a minor: nowhere is one of age later (from memory)


def field_name(spot: Spot) -> str:
    """The name of the field of a place: ``thigh`` or ``thigh_left``."""
    key, side = spot
    return f"{key}_{side}" if side else key


class MeasuresForm(forms.Form):
    """One length for each place of a sheet, none of them needed by itself."""

    def __init__(self, *args: Any, measures: Measures, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.measures, self.spots = measures, spots(measures)
        for spot in self.spots:
            field = LengthField(label=spot_name(spot, measures), required=False)
            self.fields[field_name(spot)] = field

    def lengths(self) -> dict[Spot, Length]:
        """What was written and understood, by place."""
        typed = {spot: self.cleaned_data.get(field_name(spot)) for spot in self.spots}
        return {spot: length for spot, length in typed.items() if length}

    def emptied(self) -> set[Spot]:
        """The places that the page had and in which nothing stands."""
        return {spot for spot in self.spots if field_name(spot) in self.data} - {*self.lengths()}


class SheetForm(StudioFormMixin, MeasuresForm):
    """A sheet: its day, its measures, how they were taken, and that they may be kept."""

    use_required_attribute = False
    taken_on = forms.DateField(label="Taken on", widget=day_input())
    waist_at = forms.ChoiceField(
        label="Where the waist was taken", choices=Sheet.WaistAt, required=False, widget=Chips
    )
    front_from = forms.ChoiceField(
        label="Where the front length begins",
        choices=Sheet.FrontFrom,
        required=False,
        widget=Chips,
    )
    worn = forms.CharField(
        label="Worn while measuring",
        max_length=200,
        required=False,
        help_text="Underwear, padding, a corset.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    heel = HeelField(label="Heel height", required=False, zero=True)
    agreed = forms.BooleanField(
        label="The client agrees that these measures are kept",
        widget=forms.CheckboxInput(attrs={"form": "sheet"}),
        error_messages={"required": "Measures are kept only with the client's agreement."},
    )
    consent_on = forms.DateField(label="Agreed on", widget=day_input())
    minor = forms.BooleanField(label="The client is a minor", required=False)
    born = forms.IntegerField(
        label="A minor's year of birth", required=False,
        help_text="The year alone, if at all: what is asked about then goes by age.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )  # fmt: skip
    guardian = forms.CharField(
        label="Parent or guardian who agreed",
        max_length=120,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "dir": "auto"}),
    )
    note = forms.CharField(
        label="Note",
        max_length=1000,
        required=False,
        help_text=NOTE_HINT,
        widget=forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
    )
    sensitive = forms.BooleanField(
        label="The note tells of health, and the client agreed to that", required=False
    )
    pregnant = forms.BooleanField(
        label="Pregnant, and the client agreed that it is noted", required=False,
        help_text="Health: for the owner, and who may read of health. Nothing is then expected to "
        "get smaller.",
    )  # fmt: skip
    week = forms.IntegerField(
        label="Week of the pregnancy", required=False, help_text="If she says it.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )  # fmt: skip
    form_key = forms.UUIDField(widget=forms.HiddenInput)

    def clean_taken_on(self) -> date:
        return _not_ahead(self.cleaned_data["taken_on"])

    def clean_consent_on(self) -> date:
        return _not_ahead(self.cleaned_data["consent_on"])

    def clean(self) -> dict[str, Any]:
        super().clean()
        facts = self.cleaned_data
        for name in ("worn", "guardian", "note"):
            facts[name] = NOT_TEXT.sub("", facts.get(name, ""))
        year = (facts.get("taken_on") or clock.today()).year
        self._numbered("born", "minor", "A year", year - OLDEST, year)
        self._numbered("week", "pregnant", "A week", 1, LAST_WEEK)
        if facts.get("minor") and not facts["guardian"]:
            self.add_error("guardian", "For a minor a parent or guardian agrees: write who.")
        lengths = self.lengths()
        if not lengths and not any(field_name(spot) in self.errors for spot in self.spots):
            self.add_error(None, "Write at least one measure.")
        for key, side in lengths:
            if not side and any((key, other) in lengths for other in SIDES):
                says = "Write one value for both sides, or left and right."
                self.add_error(key, says)
        return facts

    def _numbered(self, name: str, tick: str, what: str, low: int, high: int) -> None:
        """A number that is kept with its ``tick`` alone, and has to lie between two others."""
        number = self.cleaned_data.get(name)
        if not self.cleaned_data.get(tick):
            self.cleaned_data[name] = None
        elif number is not None and not low <= number <= high:
            self.add_error(name, f"{what} from {low} to {high}.")

    def without(self, *names: str) -> None:
        """For who may not read them: they are neither shown nor changed."""
        for name in names:
            del self.fields[name]
            self.initial.pop(name, None)

    def facts(self) -> dict[str, Any]:
        """All but the measures, by the names of the sheet's columns."""
        cleaned = self.cleaned_data
        heel = cleaned["heel"]
        heel_facts = {"heel_mm": heel and heel.mm, "heel_typed": heel.typed if heel else ""}
        return {name: cleaned[name] for name in COLUMNS if name in self.fields} | heel_facts

    def taking(self) -> Taking:
        """What was understood so far, for the checks. Needs the day."""
        facts = self.cleaned_data
        waist_at, front_from = facts.get("waist_at", ""), facts.get("front_from", "")
        return Taking(facts["taken_on"], self.lengths(), waist_at, front_from, self.measures)


class DayForm(forms.Form):
    """The day a trend is asked for."""

    day = forms.DateField(label="How it may be on", required=False, widget=day_input())
    growing = forms.BooleanField(label="Growing: nothing gets smaller", required=False)

    def clean_day(self) -> date | None:
        day: date | None = self.cleaned_data["day"]
        if day and day <= clock.today():
            raise ValidationError("Choose a day that is still ahead.", code="past")
        return day


class CompareForm(forms.Form):
    """Which other sheet of the client a sheet is compared with."""

    other = forms.TypedChoiceField(label="Compared with", coerce=int)

    def __init__(self, *args: Any, sheets: Sequence[Sheet], locale: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["other"].choices = [  # type: ignore[attr-defined]
            (sheet.pk, show_day(sheet.taken_on, locale)) for sheet in sheets
        ]


def _not_ahead(day: date) -> date:
    if day > clock.today():
        raise ValidationError("This day is still ahead.", code="ahead")
    return day


def starting_values(
    last: Sheet | None, client: Client, pregnancy: Sheet | None = None
) -> dict[str, Any]:
    """How a new sheet begins: as the last one was taken; who agreed only if it was the client's.

    A ``pregnancy`` that goes on does so here, in the week that it has come to.
    """
    today = clock.today()
    start: dict[str, Any] = {"taken_on": today, "consent_on": today}
    if pregnancy:
        week = week_on(pregnancy.taken_on, pregnancy.week, today) if pregnancy.week else None
        start |= {"pregnant": True, "week": week}
    if last:
        theirs = ("minor", "born", "guardian") if last.client_id == client.pk else ()
        start |= {name: getattr(last, name) for name in ("waist_at", "front_from", *theirs)}
    return start


def values_of(sheet: Sheet, taking: Taking) -> dict[str, Any]:
    """A sheet as the form shows it."""
    values = {name: getattr(sheet, name) for name in (*COLUMNS, "form_key")}
    values |= {"agreed": True, "heel": sheet.heel_typed}
    return values | {field_name(spot): length for spot, length in taking.lengths.items()}


ENDS = ("low", "high")


@dataclass(frozen=True)
class RangeRow:
    """One measure: the range of the list in words, and the fields of the owner's own."""

    measure: BodyMeasure
    usual: str
    low: BoundField
    high: BoundField


class RangesForm(StudioFormMixin, forms.Form):
    """Two lengths for each measure; both empty means the range of the list."""

    use_required_attribute = False

    def __init__(
        self, *args: Any, studio: Profile, own: Mapping[str, Range] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, studio=studio, **kwargs)
        for key, measure in MEASURES.items():
            for end in ENDS:
                field = LengthField(label=f"{measure.name}, {end}", required=False)
                field.for_studio(studio)
                self.fields[f"{key}_{end}"] = field
                if own and key in own:
                    shown = show_length(getattr(own[key], end), field.unit)
                    self.initial[f"{key}_{end}"] = shown

    def clean(self) -> dict[str, Any]:
        super().clean()
        for key in MEASURES:
            low, high = (self.cleaned_data.get(f"{key}_{end}") for end in ENDS)
            if any(f"{key}_{end}" in self.errors for end in ENDS):
                continue
            if bool(low) != bool(high):
                self.add_error(f"{key}_{'high' if low else 'low'}", "Write both ends, or neither.")
            elif low and high and low.mm >= high.mm:
                self.add_error(f"{key}_high", "The high end is above the low one.")
        return self.cleaned_data

    def ranges(self) -> dict[str, Range]:
        """The owner's own, by measure."""
        typed = {key: [self.cleaned_data[f"{key}_{end}"] for end in ENDS] for key in MEASURES}
        return {key: Range(low.mm, high.mm) for key, (low, high) in typed.items() if low and high}

    def rows(self) -> Iterator[RangeRow]:
        unit = unit_of(self.studio)
        for key, measure in MEASURES.items():
            low, high = (show_length(getattr(measure.range, end), unit) for end in ENDS)
            usual = f"{low} to {high} {unit}"
            yield RangeRow(measure, usual, self[f"{key}_low"], self[f"{key}_high"])
