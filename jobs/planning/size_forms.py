"""The size of a hem: how long its edge is, and how many layers."""

from decimal import Decimal, InvalidOperation

from django import forms
from django.http import QueryDict

from clients.fields import LengthField, unit_of
from clients.fit.lengths import show_length
from studio.shop.forms import StudioFormMixin
from studio.shop.models import Profile

LONGEST = 10_000  # mm, as of any length


class HemSizeForm(StudioFormMixin, forms.Form):
    length = LengthField(
        label="Edge all round",
        error_messages={"required": "Write how long the edge is, such as 240 cm."},
    )
    layers = forms.IntegerField(
        label="Layers",
        min_value=1,
        max_value=20,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )

    @classmethod
    def of_query(cls, query: QueryDict, studio: Profile) -> "HemSizeForm":
        """The form as asked for; ``edge``, in mm from another page, is shown in the studio's unit.

        Nothing asked is an empty form.
        """
        told = {"length": query.get("length", ""), "layers": query.get("layers", "1")}
        if (edge := query.get("edge", "")) and not told["length"]:
            told["length"] = _shown(edge, studio)
        return cls(told if query else None, studio=studio, initial={"layers": 1})


def _shown(edge: str, studio: Profile) -> str:
    """The edge in the studio's unit; as it came where it is no length in mm."""
    try:
        mm = Decimal(edge)
    except InvalidOperation:
        return edge
    unit = unit_of(studio)
    return f"{show_length(mm, unit)} {unit}" if mm.is_finite() and 0 < mm <= LONGEST else edge
