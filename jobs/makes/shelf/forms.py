"""What is asked of cloth. What it is, how wide and how long is enough."""

from decimal import Decimal
from typing import Any

from django import forms

from jobs.makes.lengths import ClothLengthField, ClothWidthField, show_cloth
from jobs.makes.models import Cloth, Make
from jobs.makes.pictures import PictureField
from jobs.makes.shelf.actions import Washing
from jobs.makes.shelf.queries import Chosen, open_makes
from jobs.makes.wishes import needs_of
from studio.shop.forms import (
    Chips,
    ModelForm,
    MoneyField,
    OnceForm,
    PercentField,
    StudioFormMixin,
    day_input,
)
from studio.shop.models import Profile
from studio.shop.money import round_half_up

WHERE = [("here", "On the shelf"), ("gone", "Used up or given away"), ("all", "Both")]
ORDER = [("name", "By name"), ("most", "Longest first"), ("new", "Newest first")]


class ShelfForm(StudioFormMixin, forms.Form):
    """The boxes above the list. What cannot be read chooses nothing."""

    q = forms.CharField(
        label="Find cloth", max_length=200, required=False,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off", "data-find": ""}),
    )  # fmt: skip
    kind = forms.ChoiceField(
        choices=[("", "Any"), *Cloth.Kind.choices], required=False, label="Kind"
    )
    least = ClothLengthField(label="At least this long", required=False)
    wide = ClothWidthField(label="At least this wide", required=False)
    where = forms.ChoiceField(choices=WHERE, required=False, label="Which")
    order = forms.ChoiceField(choices=ORDER, required=False, label="Order")

    @property
    def asked(self) -> bool:
        """Whether less than the whole shelf is looked for; its mere order is no question."""
        boxes = ("q", "kind", "least", "wide")
        other = self.data.get("where", "here") not in ("", "here")
        return other or any(self.data.get(name, "").strip() for name in boxes)

    def chosen(self) -> Chosen:
        self.is_valid()
        sent = self.cleaned_data
        least, wide = sent.get("least"), sent.get("wide")
        return Chosen(
            text=sent.get("q", ""),
            kind=sent.get("kind", ""),
            least=least.mm if least else Decimal(0),
            wide=wide.mm if wide else Decimal(0),
            where=sent.get("where") or "here",
            order=sent.get("order") or "name",
        )


class ShelfClothForm(StudioFormMixin, ModelForm):
    """The facts of a cloth. ``money`` says whether what it cost is asked."""

    use_required_attribute = False
    width = ClothWidthField(label="Usable width", error_messages={"required": "Write its width."})
    swatch = PictureField(label="Photograph of the swatch", required=False)
    repeat = ClothWidthField(label="Repeat of the print", required=False)
    shrink_along = PercentField(label="Shrinks along, %", most=49, required=False)
    shrink_across = PercentField(label="Shrinks across, %", most=49, required=False)
    price = MoneyField(label="Paid for all of it", required=False)

    class Meta:
        model = Cloth
        fields = (
            "name", "kind", "fibre", "colour", "washed", "shrink_along", "shrink_across",
            "one_way", "care", "price", "place", "bought_on", "note",
        )  # fmt: skip
        widgets = {
            "name": forms.TextInput(attrs={"autocomplete": "off", "dir": "auto"}),
            "bought_on": day_input(),
            "note": forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
        }
        labels = {"name": "What it is", "place": "Where it lies", "bought_on": "Bought on"}
        error_messages = {"name": {"required": "Write a word or two you will know it by."}}

    def __init__(self, *args: Any, studio: Profile, money: bool, **kwargs: Any) -> None:
        super().__init__(*args, studio=studio, **kwargs)
        if not money:
            del self.fields["price"]
        self.initial.setdefault("width", self.instance.width_typed)
        self.initial["repeat"] = self.instance.repeat_typed
        self.initial["swatch"] = None

    @property
    def folded(self) -> list[forms.BoundField]:
        """What need not be known to put cloth on the shelf."""
        first = {"name", "width", "length", "form_key", "make"}
        return [field for field in self if field.name not in first]

    @property
    def folded_wrong(self) -> bool:
        return any(field.errors for field in self.folded)

    def clean_shrink_along(self) -> Decimal | None:
        return _tenth(self.cleaned_data["shrink_along"])

    def clean_shrink_across(self) -> Decimal | None:
        return _tenth(self.cleaned_data["shrink_across"])

    def facts(self) -> dict[str, Any]:
        """The values that ``actions.add_cloth`` and ``change_cloth`` take."""
        sent = dict(self.cleaned_data)
        width, repeat = sent["width"], sent["repeat"]
        named = {name: sent[name] for name in self.Meta.fields if name in sent}
        return named | {
            "width_mm": width.mm,
            "width_typed": width.typed,
            "repeat_mm": repeat.mm if repeat else None,
            "repeat_typed": repeat.typed if repeat else "",
        }


class NewClothForm(ShelfClothForm, OnceForm):
    length = ClothLengthField(
        label="How much of it", error_messages={"required": "Write how long it is."}
    )
    make = forms.ModelChoiceField(
        queryset=Make.objects.none(), required=False, label="Meant for",
        empty_label="Nothing in particular",
    )  # fmt: skip
    field_order = ("name", "width", "length", "make")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["make"].queryset = open_makes()  # type: ignore[attr-defined]

    @classmethod
    def asked_for(cls, make: Make) -> dict[str, Any]:
        """What its pattern asks for at its widest, to begin with."""
        needs = needs_of(make.pattern, make.size) if make.pattern else []
        if not needs:
            return {"make": make.pk}
        widest = needs[-1]
        typed = {"width": widest.width_typed, "length": widest.length_typed}
        return {"make": make.pk} | typed


def _tenth(percent: Decimal | None) -> Decimal | None:
    return None if percent is None else Decimal(round_half_up(percent * 10)).scaleb(-1)


HOW_MUCH = {"required": "Write how much."}


class LengthForm(OnceForm):
    """A bare number is read as the cloth was bought, in metres or yards."""

    use_required_attribute = False
    length = ClothLengthField(label="How much", error_messages=HOW_MUCH)

    def __init__(self, *args: Any, cloth: Cloth, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.cloth = cloth
        for field in self.fields.values():
            if isinstance(field, ClothLengthField):
                field.bare = field.units[cloth.unit == Cloth.Unit.YARD]

    def facts(self) -> dict[str, Any]:
        """What the verb is told besides the cloth and who does it."""
        return dict(self.cleaned_data)


class CutForm(LengthForm):
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


class MoreForm(LengthForm):
    """More of the same; what it cost is asked where it is known of what was there before."""

    length = ClothLengthField(label="How much more", error_messages=HOW_MUCH)
    paid = MoneyField(
        label="Paid for it", required=False,
        help_text="Left empty, it cost as much for its length as what was there.",
    )  # fmt: skip

    def __init__(self, *args: Any, cloth: Cloth, money: bool, **kwargs: Any) -> None:
        super().__init__(*args, cloth=cloth, **kwargs)
        if not money or cloth.price is None:
            del self.fields["paid"]


class RemeasureForm(LengthForm):
    length = ClothLengthField(label="What is really there", zero=True, error_messages=HOW_MUCH)


class GiveForm(LengthForm):
    length = ClothLengthField(
        label="How much", required=False, help_text="Left empty, it is all of it."
    )


class WashForm(LengthForm):
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

    def facts(self) -> dict[str, Any]:
        facts = dict(self.cleaned_data)
        return {"form_key": facts.pop("form_key"), "washed": Washing(**facts)}


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
