"""The form fields of own sewing: lengths and widths of cloth, pictures."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from clients.fit.lengths import LengthError
from jobs.makes.lengths import LONGEST_MM, WIDEST_MM, Bare, ClothLength, parse_cloth
from studio.shop.models import Profile


def length_unit(studio: Profile) -> Bare:
    """What lengths of several cloths together are shown in: ``m`` or ``yd``."""
    return "yd" if studio.unit == Profile.Unit.INCH else "m"


class ClothLengthField(forms.CharField):
    """A length of cloth, cleaned to a ``ClothLength``; an empty optional one to None.

    A number alone is metres or yards as the studio measures, or as ``bare`` was set. Belongs on a
    form with ``StudioFormMixin``. What was typed is what is shown again.
    """

    bare: Bare = "m"
    units: tuple[Bare, Bare] = ("m", "yd")
    most_mm = LONGEST_MM

    def __init__(self, *, zero: bool = False, **kwargs: Any) -> None:
        self.zero = zero
        super().__init__(max_length=40, **kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")

    def for_studio(self, studio: Profile) -> None:
        self.bare = self.units[length_unit(studio) == "yd"]

    def clean(self, value: Any) -> ClothLength | None:
        typed = super().clean(value)
        if not typed:
            return None
        try:
            return parse_cloth(typed, self.bare, most_mm=self.most_mm, zero=self.zero)
        except LengthError as error:
            raise ValidationError(str(error), code="length") from error


class ClothWidthField(ClothLengthField):
    """A width of cloth or a piece: a number alone is centimetres or inches."""

    bare: Bare = "cm"
    units = ("cm", "in")
    most_mm = WIDEST_MM
