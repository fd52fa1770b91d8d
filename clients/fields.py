"""The form field for lengths, in the studio's units unless the text names its own."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Model
from django.forms.boundfield import BoundField

from clients.fit.lengths import Length, LengthError, Unit, parse_length, plain
from studio.shop.models import Profile


def unit_of(studio: Profile) -> Unit:
    """What a length without a unit is in, and in which lengths are shown."""
    return "in" if studio.unit == Profile.Unit.INCH else "cm"


def longest(model: type[Model], name: str) -> int:
    """How many letters the model's column holds."""
    column = model._meta.get_field(name)  # noqa: SLF001 -- Django's documented way
    return getattr(column, "max_length", None) or 0


def storable(length: Length | None, model: type[Model], name: str) -> Length | None:
    """The length, unless it is too long to keep as it was typed, with its unit."""
    if length and len(length.with_unit) > longest(model, name):
        raise ValidationError("Write this shorter, such as 12.5 cm or 4 7/8 in.", code="long")
    return length


class LengthBound(BoundField):
    """A length on the page, with the unit that stands beside the number."""

    @property
    def unit_beside(self) -> str:
        """The unit of a bare number; empty where what stands in the field is none."""
        value = self.value()
        typed = value.typed if isinstance(value, Length) else str(value or "")
        bare = not any(letter.isalpha() or letter in '"″”' for letter in plain(typed))
        return self.field.unit if bare else ""  # type: ignore[attr-defined]


class LengthField(forms.CharField):
    """A length as people type it, cleaned to a ``Length``; an empty optional one to None.

    Belongs on a form with ``StudioFormMixin``. What was typed is what is shown again. ``zero``
    lets nothing be a length, see ``parse_length``.
    """

    unit: Unit = "cm"

    def __init__(self, *, zero: bool = False, **kwargs: Any) -> None:
        self.zero = zero
        super().__init__(max_length=40, **kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")

    def for_studio(self, studio: Profile) -> None:
        self.unit = unit_of(studio)

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> LengthBound:
        return LengthBound(form, self, field_name)

    def prepare_value(self, value: Any) -> Any:
        return value.typed if isinstance(value, Length) else value

    def clean(self, value: Any) -> Length | None:
        typed = super().clean(value)
        if not typed:
            return None
        try:
            return parse_length(typed, self.unit, zero=self.zero)
        except LengthError as error:
            raise ValidationError(str(error), code="length") from error


class HeelField(LengthField):
    """The heel of a shoe. What is higher was meant for another field (common practice)."""

    HIGHEST_MM = 300

    def clean(self, value: Any) -> Length | None:
        heel = super().clean(value)
        if heel and heel.mm > self.HIGHEST_MM:
            raise ValidationError(f"No heel is as high as {heel.with_unit}.", code="heel")
        return heel
