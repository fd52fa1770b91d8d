"""What the forms of all sums have in common."""

from decimal import Decimal
from fractions import Fraction
from typing import Any, cast

from django import forms

from clients.fit.lengths import Length, Unit
from jobs.tickets.fit.answers import Answer
from jobs.tickets.fit.showing import Show
from jobs.tickets.models import Garment
from studio.shop.forms import StudioFormMixin
from studio.shop.money import exact


class SumForm(StudioFormMixin, forms.Form):
    """A sum: its fields, and the answer to them once they are valid."""

    kind = ""  # its name in addresses and in ``models.FitSum``
    title = ""
    hint = ""
    do_not_call_in_templates = True  # a list of sums shows them as they are
    blame = ""  # the field that is told of figures which do not go together

    @property
    def unit(self) -> Unit:
        return cast("Unit", self.studio.unit)

    @property
    def show(self) -> Show:
        return Show(self.unit)

    def asked(self) -> dict[str, str]:
        """The form as it was typed, without what was left empty."""
        typed = {name: self[name].value() for name in self.fields}
        return {name: str(value) for name, value in typed.items() if value not in {None, "", False}}

    def answer(self, garment: Garment) -> Answer:
        """What the valid form comes to. Raises ``FitError``."""
        raise NotImplementedError

    def mm(self, name: str, default: Decimal | int = 0) -> Fraction:
        """A length of the valid form in mm; ``default`` where none was typed."""
        found: Length | None = self.cleaned_data[name]
        return exact(found.mm if found else default)

    @classmethod
    def start(cls, garment: Garment) -> dict[str, Any]:  # noqa: ARG003 -- for sums that know more
        """What is known of the garment already, for the empty form."""
        return {}
