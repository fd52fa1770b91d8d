"""What is asked when cloth is moved: one small form for each verb of its page."""

from typing import Any

from django import forms

from jobs.makes.fields import ClothLengthField, ClothWidthField
from jobs.makes.lengths import show_cloth
from jobs.makes.models import Cloth, Make
from jobs.makes.shelf.actions import Washed
from jobs.makes.shelf.queries import open_makes
from studio.shop.forms import Chips, OnceForm, StudioFormMixin

HOW_MUCH = {"required": "Write how much."}


class MoveForm(OnceForm):
    """A bare number is read as the cloth was bought, in metres or yards."""

    use_required_attribute = False
    length = ClothLengthField(label="How much", error_messages=HOW_MUCH)

    def __init__(self, *args: Any, cloth: Cloth, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.cloth = cloth
        for field in self.fields.values():
            if isinstance(field, ClothLengthField):
                field.bare = field.units[cloth.unit == Cloth.Unit.YARD]

    def told(self) -> dict[str, Any]:
        """What the verb is told besides the cloth and who does it."""
        return dict(self.cleaned_data)


class CutForm(MoveForm):
    make = forms.ModelChoiceField(
        queryset=Make.objects.none(), required=False, label="For",
        empty_label="Nothing in particular",
    )  # fmt: skip

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["make"].queryset = open_makes()  # type: ignore[attr-defined]


class BackForm(CutForm):
    make = forms.ModelChoiceField(
        queryset=Make.objects.none(), required=False, label="Left over from",
        empty_label="Nothing in particular",
    )  # fmt: skip


class MeasureForm(MoveForm):
    length = ClothLengthField(label="What is really there", zero=True, error_messages=HOW_MUCH)


class GiveForm(MoveForm):
    length = ClothLengthField(
        label="How much", required=False, help_text="Left empty, it is all of it."
    )


class WashForm(MoveForm):
    length = None  # type: ignore[assignment]
    before = ClothLengthField(label="Length before", error_messages=HOW_MUCH)
    after = ClothLengthField(label="Length after", error_messages=HOW_MUCH)
    width_before = ClothWidthField(label="Width before", required=False)
    width_after = ClothWidthField(label="Width after", required=False)
    whole = forms.TypedChoiceField(
        label="What was washed", choices=[("all", "All of it"), ("trial", "A piece, as a trial")],
        initial="all", widget=Chips, coerce=lambda said: said == "all",
    )  # fmt: skip

    def __init__(self, *args: Any, cloth: Cloth, **kwargs: Any) -> None:
        super().__init__(*args, cloth=cloth, **kwargs)
        self.initial.setdefault("before", show_cloth(cloth.left_mm, cloth.unit))
        self.initial.setdefault("width_before", cloth.width_typed)

    def told(self) -> dict[str, Any]:
        told = dict(self.cleaned_data)
        return {"form_key": told.pop("form_key"), "washed": Washed(**told)}


class MeanForm(StudioFormMixin, forms.Form):
    """The cloth is meant for a make; how much of it may be left open.

    It stands on one page with ``CutForm``, so its fields have ids of their own.
    """

    use_required_attribute = False
    make = forms.ModelChoiceField(
        queryset=Make.objects.none(), label="Meant for", empty_label="Choose",
        error_messages={"required": "Choose what it is meant for."},
    )  # fmt: skip
    length = ClothLengthField(label="How much", required=False)

    def __init__(self, *args: Any, cloth: Cloth, **kwargs: Any) -> None:
        super().__init__(*args, auto_id="meant_%s", **kwargs)
        self.fields["make"].queryset = open_makes()  # type: ignore[attr-defined]
        self.fields["length"].bare = "yd" if cloth.unit == Cloth.Unit.YARD else "m"  # type: ignore[attr-defined]
