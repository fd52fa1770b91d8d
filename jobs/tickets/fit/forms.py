"""Small forms of the fit pages. Each sum's own form is in ``sums``."""

from django import forms

from jobs.tickets.models import Garment
from studio.shop.forms import Chips


class ClothKindForm(forms.Form):
    """What the garment is made of."""

    cloth = forms.ChoiceField(
        label="Cloth of this garment",
        choices=[("", "Not noted"), *Garment.Cloth.choices],
        required=False,
        widget=Chips,
    )
