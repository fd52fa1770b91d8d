"""Everything the owner sets: the profile, the usual week, taxes, and who has a login."""

from calendar import day_name
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib.auth import get_user_model
from django.contrib.auth.forms import UserCreationForm
from django.core.exceptions import ValidationError
from django.http import QueryDict

from studio.shop import clock, territory
from studio.shop.actions import BenchDay, CurrencyFixedError, NamedRate, check_currency
from studio.shop.forms import Chips, HoursField, ModelForm, PercentField, day_input, hour_input
from studio.shop.models import (
    LONGEST_PLACE,
    MOST_PLACES,
    Profile,
    TaxClass,
    TaxError,
    TaxRate,
    User,
    WorkingDay,
)
from studio.shop.paper.printers import (
    PAPERS,
    SIZES,
    USUAL_NAME,
    USUAL_SIZE,
    Printer,
    could_lie,
    printers_of,
)

# The types know whom the form makes; Django itself does not ask.
if TYPE_CHECKING:
    NewLoginForm = UserCreationForm[User]
else:
    NewLoginForm = UserCreationForm

Choices = list[tuple[str, list[tuple[str, str]]]]


def zone_choices(country: str) -> Choices:
    """Every time zone, those of the country first."""
    zones = territory.zones_by_country()
    here = zones.get(country, [])
    rest = sorted({zone for names in zones.values() for zone in names} - set(here))
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


class ProfileForm(ModelForm):
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
        currency: str = self.cleaned_data["currency"]
        try:
            check_currency(currency)
        except CurrencyFixedError as error:
            raise ValidationError(str(error), code="fixed") from error
        return currency


MOST_PRINTERS = 6
SLOTS = range(1, MOST_PRINTERS + 1)


@dataclass(frozen=True)
class PaperChip:
    """A paper at one printer: ticked where it lies there."""

    paper: str
    words: str
    ticked: bool
    errors: list[str]


@dataclass(frozen=True)
class PrinterCard:
    """One printer as the page shows it."""

    slot: int
    kind: str
    name: forms.BoundField
    size: forms.BoundField
    papers: list[PaperChip]


class PapersForm(ModelForm):
    """Which printers there are, and in which of them each paper lies.

    ``add`` is the kind of a printer that is not there yet. Each paper is one choice among all
    printers; a printer in which nothing lies when the form is sent is no longer there.
    """

    pay_days = forms.IntegerField(
        label="Days to pay",
        min_value=0,
        max_value=365,
        help_text="Printed on invoices that are not paid at once.",
    )

    class Meta:
        model = Profile
        fields = ["tag_surname", "terms", "pay_days"]
        widgets = {"terms": forms.Textarea(attrs={"rows": 5})}
        help_texts = {
            "terms": "For instance how long finished work is kept, and what is not answered for.",
        }

    kept = ["printers", *Meta.fields]

    def __init__(self, *args: Any, add: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        printers = printers_of(self.instance)
        self.next_slot = len(printers) + 1
        if add in USUAL_SIZE and len(printers) < MOST_PRINTERS:
            printers.append(Printer(USUAL_NAME[add], USUAL_SIZE[add], ()))
        for slot in SLOTS:
            printer = printers[slot - 1] if slot <= len(printers) else None
            self._ask_of(slot, printer)
        for key, asked in PAPERS.items():
            lies = (slot for slot, it in enumerate(printers, start=1) if key in it.papers)
            self.fields[f"paper_{key}"] = forms.ChoiceField(
                label=asked.words,
                choices=[(str(slot), self._named(slot, printers)) for slot in SLOTS],
                widget=forms.RadioSelect,
                initial=str(next(lies, 1)),
            )

    def _ask_of(self, slot: int, printer: Printer | None) -> None:
        size = self.data.get(f"size_{slot}", printer.size if printer else "")
        kind = SIZES[size].kind if size in SIZES else ""
        sizes = [(key, it.words) for key, it in SIZES.items() if it.kind == kind]
        self.fields[f"name_{slot}"] = forms.CharField(
            label="Printer",
            max_length=40,
            required=bool(kind),
            initial=printer.name if printer else "",
        )
        self.fields[f"size_{slot}"] = forms.ChoiceField(
            label="Size of paper",
            choices=sizes,
            required=False,
            widget=Chips,
            initial=printer.size if printer else "",
        )

    def _named(self, slot: int, printers: list[Printer]) -> str:
        return printers[slot - 1].name if slot <= len(printers) else f"printer {slot}"

    @property
    def cards(self) -> list[PrinterCard]:
        found = []
        for slot in SLOTS:
            size = self[f"size_{slot}"].value()
            if size in SIZES:
                kind = SIZES[size].kind
                papers = [self._chip(key, slot) for key in PAPERS if could_lie(key, kind)]
                name, asked = self[f"name_{slot}"], self[f"size_{slot}"]
                found.append(PrinterCard(slot, kind, name, asked, papers))
        return found

    def _chip(self, key: str, slot: int) -> PaperChip:
        bound = self[f"paper_{key}"]
        ticked = str(bound.value()) == str(slot)
        return PaperChip(
            key, PAPERS[key].words, ticked, [str(it) for it in bound.errors] if ticked else []
        )

    @property
    def others(self) -> list[forms.BoundField]:
        """What is asked beside the printers."""
        return [self[name] for name in self.Meta.fields]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        printers = []
        for slot in SLOTS:
            size, name = cleaned.get(f"size_{slot}"), cleaned.get(f"name_{slot}")
            held = tuple(key for key in PAPERS if cleaned.get(f"paper_{key}") == str(slot))
            for key in held:
                if size not in PAPERS[key].sizes:
                    self.add_error(f"paper_{key}", self._refusal(key, size))
            if size and name and held:
                printers.append(Printer(name, size, held))
        if printers != printers_of(self.instance):
            self.instance.printers = [printer.plain for printer in printers]
        return cleaned

    @staticmethod
    def _refusal(key: str, size: str | None) -> str:
        where = SIZES[size].words if size else "a printer that is not there"
        return f"{PAPERS[key].words}: not made for {where}. Choose another printer or size."


class PlacesForm(ModelForm):
    """The places are offered wherever a garment is hung."""

    class Meta:
        model = Profile
        fields = ["places"]
        widgets = {"places": forms.Textarea(attrs={"rows": 8})}
        help_texts = {"places": "One a line, such as rail 1."}

    def clean_places(self) -> str:
        lines = (" ".join(line.split()) for line in self.cleaned_data["places"].splitlines())
        places = list(dict.fromkeys(line for line in lines if line))
        if len(places) > MOST_PLACES:
            raise ValidationError(f"At most {MOST_PLACES} places.")
        if any(len(place) > LONGEST_PLACE for place in places):
            raise ValidationError(f"At most {LONGEST_PLACE} letters for one place.")
        return "\n".join(places)


class LeadTimeForm(ModelForm):
    """What the drop-off page suggests as the promise."""

    class Meta:
        model = Profile
        fields = ["lead_days", "promise_time"]
        widgets = {"promise_time": hour_input()}


OPENS = time(9, 0)
LONGEST_CLOSURE = 92  # days; a longer one is more likely a slip of the year


class BenchDayForm(forms.Form):
    starts = forms.TimeField(label="Opens at", widget=hour_input())
    hours = HoursField(label="Hours at the bench")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        starts, minutes = cleaned.get("starts"), cleaned.get("hours")
        if starts and minutes and starts.hour * 60 + starts.minute + minutes > 1440:
            self.add_error("hours", "A working day cannot run over midnight: end it by 24:00.")
        return cleaned


HALF_HOUR = 30


def stepped(data: QueryDict, most: Mapping[str, int]) -> QueryDict:
    """What a press of a stepper makes of what a form was sent with: ``step`` is ``field by``.

    Hours go by so many minutes, other fields by so many ones up to their ``most``; what is not
    understood stays.
    """
    name, _, by = data.get("step", "").rpartition(" ")
    if name not in data or by.lstrip("-") not in ("1", str(HALF_HOUR)):
        return data
    answers, hours = data.copy(), HoursField()
    typed = str(data[name]).strip()
    if name.endswith("-hours"):
        try:
            minutes = hours.clean(typed) or 0
        except ValidationError:
            return data
        answers[name] = str(hours.prepare_value(min(max(minutes + int(by), 0), 1440)))
    elif typed.isdecimal():
        answers[name] = str(min(max(int(typed) + int(by), 0), most.get(name, 0)))
    return answers


class WeekForm:
    """Seven days, Monday first; each is a ``BenchDayForm`` with its ``name``."""

    def __init__(self, data: Any = None, *, minutes: dict[int, int] | None = None) -> None:
        """``minutes`` suggests hours where the database has no week yet."""
        kept = {day.weekday: (day.starts, day.minutes) for day in WorkingDay.objects.all()}
        self.days = []
        for weekday, name in enumerate(day_name):
            starts, hours = kept.get(weekday, (OPENS, (minutes or {}).get(weekday, 0)))
            initial = {"starts": starts, "hours": hours}
            form = BenchDayForm(data, prefix=name.lower(), initial=initial)
            form.name = name  # type: ignore[attr-defined]
            self.days.append(form)

    def is_valid(self) -> bool:
        checked = [day.is_valid() for day in self.days]
        return all(checked)

    def minutes(self) -> list[int]:
        """The bench minutes of each day as the form stands; none where they are not understood."""
        typed = []
        for form in self.days:
            try:
                hours = form["hours"].value()
                typed.append(form.fields["hours"].clean(hours) or 0)
            except ValidationError:
                typed.append(0)
        return typed

    def opens(self) -> list[int]:
        """The minute at which each day opens; the usual one where it is not understood."""
        typed = []
        for form in self.days:
            try:
                starts = form.fields["starts"].clean(form["starts"].value())
            except ValidationError:
                starts = OPENS
            typed.append(starts.hour * 60 + starts.minute)
        return typed

    def week(self) -> list[BenchDay]:
        return [
            BenchDay(weekday, form.cleaned_data["starts"], form.cleaned_data["hours"])
            for weekday, form in enumerate(self.days)
        ]


class DaysOffForm(forms.Form):
    first = forms.DateField(label="Closed on", widget=day_input())
    last = forms.DateField(
        label="Until",
        required=False,
        widget=day_input(),
        help_text="Leave empty for a single day.",
    )
    reason = forms.CharField(max_length=100, required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first = cleaned.get("first")
        if not first or "last" in self.errors:
            return cleaned
        last = cleaned["last"] = cleaned["last"] or first
        if first < clock.today():
            raise ValidationError({"first": "This day is over."})
        if last < first:
            raise ValidationError({"last": "The last day comes before the first."})
        if (last - first).days >= LONGEST_CLOSURE:
            raise ValidationError({"last": f"At most {LONGEST_CLOSURE} days at once."})
        return cleaned


class NewTaxForm(forms.Form):
    """A further kind of tax, with its first rate or exempt."""

    name = forms.CharField(max_length=60, error_messages={"required": "Give this rate a name."})
    percent = PercentField(most=100, required=False, label="Rate in %")
    valid_from = forms.DateField(label="Holds from", widget=day_input())
    exempt = forms.BooleanField(required=False, label="Exempt from tax")
    sentence = forms.CharField(max_length=300, required=False, label="Sentence printed when exempt")

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        if TaxClass.objects.filter(name=name).exists():
            raise ValidationError("There is a tax of this name already.")
        return name

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        percent, exempt = cleaned.get("percent"), cleaned.get("exempt")
        if exempt and percent:
            self.add_error("percent", "An exempt kind of work has no rate.")
        if not exempt and percent is None and "percent" not in self.errors:
            self.add_error("percent", "Write the rate, or tick “exempt”.")
        return cleaned

    def named_rate(self) -> NamedRate:
        return NamedRate(**self.cleaned_data)


class TaxModeForm(ModelForm):
    class Meta:
        model = Profile
        fields = ["tax_mode", "worn_tax", "new_tax", "tax_number", "invoice_sentence"]
        widgets = {"tax_mode": Chips, "invoice_sentence": forms.Textarea(attrs={"rows": 3})}
        help_texts = {
            "invoice_sentence": "Printed on every invoice, and on credit notes without tax."
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "tax_mode" not in cleaned:
            return cleaned
        for wear, name in (("worn", "worn_tax"), ("new", "new_tax")):
            asked = Profile(**{key: cleaned.get(key) for key in ("tax_mode", name)})
            try:
                asked.tax_for(wear, clock.today())
            except TaxError as error:
                self.add_error(name, str(error))
        return cleaned


class TaxClassForm(ModelForm):
    class Meta:
        model = TaxClass
        fields = ["name", "exempt", "sentence"]
        labels = {"exempt": "Exempt from tax"}


class TaxRateForm(ModelForm):
    percent = PercentField(most=100, label="Rate in %")

    class Meta:
        model = TaxRate
        fields = ["percent", "valid_from"]
        labels = {"valid_from": "Holds from"}
        widgets = {"valid_from": day_input()}


class PersonForm(NewLoginForm):
    """A further login."""

    class Meta:
        model = get_user_model()
        fields = ["first_name", "username", "role"]
        labels = {"first_name": "Name", "username": "Login name", "role": "May see"}
        help_texts = {"username": "Letters and digits, also @ . + - _"}
        widgets = {"role": Chips}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # The page does not open in the middle of the form.
        del self.fields["username"].widget.attrs["autofocus"]
        self.fields["role"].initial = User.Role.HELPER
        self.fields["role"].choices = [  # type: ignore[attr-defined]
            (User.Role.HELPER, "Everything but money"),
            (User.Role.OWNER, "Everything"),
        ]
