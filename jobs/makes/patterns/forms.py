"""What is asked of a pattern. Its name is enough."""

import re
from typing import TYPE_CHECKING, Any

from django import forms
from django.forms import BaseFormSet, formset_factory

from clients.fields import longest, unit_of
from clients.fit.lengths import LengthError, Unit
from clients.fit.sizes import GIRTHS, read_girths
from jobs.makes.lengths import ClothLengthField, ClothWidthField
from jobs.makes.models import Cloth, Make, Need, Pattern
from jobs.makes.patterns.actions import NeedRow
from jobs.makes.pickers import ClothPicker
from jobs.makes.pictures import PictureField
from studio.shop.forms import HoursField, ModelForm, StudioFormMixin
from studio.shop.models import Profile

MOST_NEEDS = 40
LONGEST_ROW = 400
MOST_OF_A_SIZE = longest(Make, "size")
SPARE_ROWS = 3


class GirthsField(forms.CharField):
    """A row of girths as an envelope has them, cleaned to texts with their unit."""

    unit: Unit = "cm"

    def __init__(self, label: str) -> None:
        super().__init__(
            label=label, required=False, max_length=LONGEST_ROW,
            widget=forms.TextInput(attrs={"autocomplete": "off"}),
        )  # fmt: skip

    def for_studio(self, studio: Profile) -> None:
        self.unit = unit_of(studio)
        self.label = f"{self.label}, {self.unit}"

    def clean(self, value: Any) -> list[str]:
        try:
            return read_girths(super().clean(value), self.unit)
        except LengthError as wrong:
            raise forms.ValidationError(str(wrong), code="length") from wrong


class PatternForm(StudioFormMixin, ModelForm):
    use_required_attribute = False
    body = forms.CharField(
        label="Sizes in its table of body measures", required=False, max_length=LONGEST_ROW,
        help_text="As printed, with blanks between: 36 38 40.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip
    body_bust, body_waist, body_hip = (GirthsField(key.capitalize()) for key in GIRTHS)
    kinds = forms.MultipleChoiceField(
        label="Cloth it is for (none: any)",
        choices=Cloth.Kind.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple(attrs={"class": "chips"}),
    )
    widest = ClothWidthField(label="Width of its widest piece", required=False)
    minutes = HoursField(label="Hours that one takes, your guess or as before", week=True)
    photo = PictureField(label="Photograph of the envelope", required=False)

    class Meta:
        model = Pattern
        fields = (
            "name", "maker", "number", "garment", "sizes", "size", "kinds", "minutes", "stops",
            "notions", "changes", "place",
        )  # fmt: skip
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "off", "dir": "auto"}),
            "notions": forms.Textarea(attrs={"rows": 2, "dir": "auto"}),
            "changes": forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
        }
        labels = {"place": "Where it lies", "stops": "It can be left half-way"}
        error_messages = {"name": {"required": "Write the name you will look for."}}

    def __init__(self, *args: Any, studio: Profile, **kwargs: Any) -> None:
        super().__init__(*args, studio=studio, **kwargs)
        self.initial["widest"] = self.instance.widest_typed
        rows = self.instance.body_sizes
        self.initial["body"] = " ".join(row["size"] for row in rows)
        for key in GIRTHS:
            girths = [row[key].removesuffix(f" {unit_of(studio)}") for row in rows if row.get(key)]
            self.initial[f"body_{key}"] = ", ".join(girths)

    def clean(self) -> dict[str, Any]:
        """Each row of girths has one for every size, and without sizes there are none."""
        sent = super().clean() or {}
        sizes = re.split(r"[\s,;]+", sent["body"].strip(" ,;")) if sent.get("body") else []
        rows: dict[str, list[str]] = {}
        if len(set(sizes)) < len(sizes):
            self.add_error("body", "Two sizes are called the same.")
        if any(len(size) > MOST_OF_A_SIZE for size in sizes):
            self.add_error("body", f"A size has at most {MOST_OF_A_SIZE} letters.")
        for key in GIRTHS:
            girths = sent.get(f"body_{key}", [])
            if girths and len(girths) != len(sizes):
                count = f"{len(sizes)} size{'' if len(sizes) == 1 else 's'}"
                where = f"body_{key}" if sizes else "body"
                words = f"Write one for each of the {count}." if sizes else "Write the sizes too."
                self.add_error(where, words)
            elif girths:
                rows[key] = girths
        self.body_sizes = [
            {"size": size} | {key: rows[key][n] for key in rows} for n, size in enumerate(sizes)
        ]
        return sent

    def facts(self) -> dict[str, Any]:
        """The values that the actions take."""
        sent = self.cleaned_data
        widest = sent["widest"]
        return {name: sent[name] for name in self.Meta.fields} | {
            "body_sizes": self.body_sizes,
            "widest_mm": widest.mm if widest else None,
            "widest_typed": widest.typed if widest else "",
        }


class NeedForm(StudioFormMixin, forms.Form):
    """One row of the table on the envelope."""

    size = forms.CharField(max_length=20, required=False)
    width = ClothWidthField(label="Cloth this wide", required=False)
    length = ClothLengthField(label="Takes this much", required=False)

    def clean(self) -> None:
        sent = self.cleaned_data
        for name, other in (("width", "length"), ("length", "width")):
            if sent.get(other) and not sent.get(name) and name not in self.errors:
                self.add_error(name, f"Write the {name} too.")

    def row(self) -> NeedRow | None:
        """None where nothing was written."""
        width, length = self.cleaned_data.get("width"), self.cleaned_data.get("length")
        if not width or not length:
            return None
        return NeedRow(
            size=self.cleaned_data["size"],
            width_mm=width.mm,
            width_typed=width.typed,
            length_mm=length.mm,
            length_typed=length.typed,
            unit=length.unit,
        )


if TYPE_CHECKING:
    NeedForms = BaseFormSet[NeedForm]
else:
    NeedForms = BaseFormSet


class NeedRows(NeedForms):
    """The table: no size and width stand in it twice."""

    def clean(self) -> None:
        seen: set[tuple[str, object]] = set()
        for form in self.forms:
            row = form.row() if form.is_valid() else None
            if row and (row.size, row.width_mm) in seen:
                form.add_error("width", "This size and width stand above already.")
            if row:
                seen.add((row.size, row.width_mm))

    def rows(self) -> list[NeedRow]:
        return [row for form in self.forms if (row := form.row())]


NeedFormSet = formset_factory(
    NeedForm,
    formset=NeedRows,
    extra=SPARE_ROWS,
    max_num=MOST_NEEDS,
    absolute_max=MOST_NEEDS + SPARE_ROWS,
    validate_max=True,
)


def need_rows(data: Any, studio: Profile, pattern: Pattern | None = None) -> Any:
    """The table of a pattern, or of what was sent, with spare rows below."""
    needs = pattern.needs.all() if pattern else Need.objects.none()
    initial = [
        {"size": need.size, "width": need.width_typed, "length": need.length_typed}
        for need in needs
    ]
    return NeedFormSet(data, initial=initial, prefix="need", form_kwargs={"studio": studio})


class OtherWidthForm(StudioFormMixin, forms.Form):
    """For which width the table is shown: one typed, or that of a cloth on the shelf."""

    cloth = ClothPicker(label="For this cloth", empty_label="None of them")
    width = ClothWidthField(label="or cloth this wide", required=False)
