"""Form habits of the house: one renderer, and fields that keep what was typed."""

import re
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.forms.renderers import TemplatesSetting

from studio.shop.models import Profile
from studio.shop.money import MoneyError, format_plain, parse_money, plain_percent, round_half_up

# The types know which model a form is of; Django itself does not ask.
if TYPE_CHECKING:
    ModelForm = forms.ModelForm[Any]
else:
    ModelForm = forms.ModelForm

TOO_OLD = "This page is too old. Open it afresh."
MOST_MONEY = 10**9  # minor units; no single price or amount is larger


def day_input(**attrs: Any) -> forms.DateInput:
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", **attrs})


def hour_input() -> forms.TimeInput:
    return forms.TimeInput(format="%H:%M", attrs={"type": "time"})


class StudioFormRenderer(TemplatesSetting):
    """Fields are rendered with label, hint and message by ``templates/forms/``."""

    form_template_name = "forms/form.html"
    field_template_name = "forms/field.html"


class StudioFormMixin:
    """A form whose fields need the studio: ``SomeForm(data, studio=request.studio)``.

    Fields with a ``for_studio`` method are told the profile once, before any value is read.
    """

    def __init__(self, *args: Any, studio: Profile, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio
        for field in self.fields.values():  # type: ignore[attr-defined]
            if hasattr(field, "for_studio"):
                field.for_studio(studio)


class OnceForm(StudioFormMixin, forms.Form):
    """A form that books once, however often it is sent."""

    form_key = forms.UUIDField(
        widget=forms.HiddenInput,
        initial=uuid4,
        error_messages={"required": TOO_OLD, "invalid": TOO_OLD},
    )


class Chips(forms.RadioSelect):
    """One of a few, as large chips in a row."""

    option_inherits_attrs = False

    def __init__(self, attrs: dict[str, Any] | None = None, **kwargs: Any) -> None:
        super().__init__({"class": "chips"} | (attrs or {}), **kwargs)

    def create_option(self, *args: Any, **kwargs: Any) -> dict[str, Any]:
        """Each has an id of its own, to which the list of what was refused leads."""
        option = super().create_option(*args, **kwargs)
        if field_id := (kwargs.get("attrs") or {}).get("id"):
            option["attrs"]["id"] = self.id_for_label(field_id, option["index"])
        return option


class MoneyField(forms.CharField):
    """Money as people type it, cleaned to integer minor units of the studio's currency.

    Belongs on a form with ``StudioFormMixin``. ``initial`` is given in minor units; on an error
    the words that were typed are shown again. An empty optional field cleans to None. Where money
    may go back, ``negative`` takes a minus as well.
    """

    default_error_messages = {"huge": "That is more money than a price can be."}
    currency = ""
    locale = "en"

    def __init__(
        self, *, max_minor: int = MOST_MONEY, negative: bool = False, **kwargs: Any
    ) -> None:
        self.max_minor, self.negative = max_minor, negative
        super().__init__(max_length=40, **kwargs)
        self.widget.attrs.setdefault("inputmode", "decimal")
        self.widget.attrs.setdefault("autocomplete", "off")

    def for_studio(self, studio: Profile) -> None:
        self.currency, self.locale = studio.currency, studio.locale

    def prepare_value(self, value: Any) -> Any:
        return format_plain(value, self.currency) if isinstance(value, int) else value

    def clean(self, value: Any) -> int | None:
        typed = super().clean(value)
        if not typed:
            return None
        try:
            minor = parse_money(typed, self.currency, self.locale, allow_negative=self.negative)
        except MoneyError as error:
            raise ValidationError(str(error), code="money") from error
        if abs(minor) > self.max_minor:
            raise ValidationError(self.error_messages["huge"], code="huge")
        return minor


class PercentField(forms.DecimalField):
    """A percentage with at most three decimals, point or comma; ``13.500`` is shown as ``13.5``."""

    def __init__(self, *, most: int = 1000, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal"}))
        super().__init__(min_value=0, max_value=most, max_digits=7, decimal_places=3, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return plain_percent(value) if isinstance(value, Decimal) else value

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        if isinstance(value, str):
            value = value.strip().removesuffix("%").replace(",", ".")
        return super().to_python(value)


HOURS = re.compile(
    r"(?P<hours>\d{1,3})"
    r"(?:\s*[:h]\s*(?P<minutes>[0-5]?\d)?|[.,](?P<part>\d{1,2})\s*h?)?",
    re.IGNORECASE,
)


def parse_hours(text: str, *, week: bool = False) -> int:
    """Hours of a day, or of a ``week``, as minutes: ``7.5``, ``7,5``, ``7:30``, ``7 h 30`` are 450.

    Parts of an hour are rounded to the minute. Raises ValueError with a sentence for the form.
    """
    match = HOURS.fullmatch(text.strip())
    if not match:
        raise ValueError("Write hours such as 7.5 or 7:30, or 0.")
    part = Fraction(f"0.{match['part'] or 0}") * 60
    minutes = int(match["hours"]) * 60 + int(match["minutes"] or 0) + round_half_up(part)
    if minutes > (7 if week else 1) * 1440:
        raise ValueError("A week has 168 hours." if week else "A day has 24 hours.")
    return minutes


class HoursField(forms.CharField):
    """Hours of a day as people type them, cleaned to whole minutes. Empty means none.

    With ``week`` they are the hours of a week, and empty cleans to None: nothing was said.
    """

    def __init__(self, *, week: bool = False, **kwargs: Any) -> None:
        self.week = week
        super().__init__(max_length=12, required=False, **kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, int):
            return f"{value // 60}:{value % 60:02d}" if value % 60 else str(value // 60)
        return value

    def clean(self, value: Any) -> int | None:
        typed = super().clean(value)
        if self.week and not typed:
            return None
        try:
            return parse_hours(typed or "0", week=self.week)
        except ValueError as error:
            raise ValidationError(str(error), code="hours") from error
