"""What a card is asked for. A few words are all it needs."""

from collections.abc import Iterable
from datetime import date
from typing import Any
from uuid import UUID, uuid4

from django import forms

from jobs.makes.ideas.actions import NOT_PUT_AWAY
from jobs.makes.ideas.queries import ClothOfMake
from jobs.makes.lengths import ClothLengthField, show_cloth
from jobs.makes.models import Cloth, Fate, Make, MakeState, Picture
from jobs.makes.pickers import ClothPicker, PatternPicker
from jobs.makes.pictures import PictureField, PicturesField, SketchField
from studio.shop import clock
from studio.shop.forms import Chips, HoursField, ModelForm, StudioFormMixin, day_input

HEATS = [(heat, str(heat)) for heat in range(1, 6)]
WHEN_FINISHED = ("finished_on", "learnt")
ON_THE_CARD = ("pattern", "changes")
"""What a card that has a pattern asks for beside each of them."""
OF_CLOTH = ("cloth", "length")


class PastDayField(forms.DateField):
    """A day that is not to come."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=day_input(), **kwargs)

    def clean(self, value: Any) -> date | None:
        day: date | None = super().clean(value)
        if day and day > clock.today():
            raise forms.ValidationError("This day is still to come.")
        return day


class QuickForm(forms.Form):
    """Pictures, a drawing or a few words. ``held`` are pictures that came with an earlier sending.

    ``photo`` is what pages of an earlier version sent.
    """

    words = forms.CharField(label="A new idea, in a few words", max_length=120, required=False)
    photo = PictureField(label="Photograph", required=False)
    photos = PicturesField(label="Pictures", required=False)
    sketch = SketchField(required=False)
    held = forms.ModelMultipleChoiceField(
        Picture.objects.all(), required=False, widget=forms.MultipleHiddenInput
    )
    form_key = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=uuid4)

    def clean_form_key(self) -> UUID:
        return self.cleaned_data["form_key"] or uuid4()

    def clean(self) -> dict[str, Any]:
        return _with_something(self, super().clean() or {})


def _with_something(form: QuickForm, sent: dict[str, Any]) -> dict[str, Any]:
    given = any(sent.get(name) for name in ("words", "photo", "photos", "sketch", "held"))
    if not given and not form.errors:
        form.add_error("words", "Choose a picture, draw, or write a few words.")
    return sent


class DrawnForm(forms.Form):
    """A sheet that was drawn on."""

    words = forms.CharField(label="In a few words", max_length=120, required=False)
    sketch = SketchField(required=False)
    form_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)


class CardForm(StudioFormMixin, ModelForm):
    """All that can be written on a card. What has its own place there once it is said, cloth and
    pattern, is asked while nothing is."""

    heat = forms.TypedChoiceField(
        label="How keen", choices=[("", "Not said"), *HEATS], coerce=int,
        empty_value=None, required=False, widget=Chips,
    )  # fmt: skip
    minutes = HoursField(week=True, label="Bench hours, guessed", help_text="Such as 4 or 4:30.")
    finished_on = PastDayField(required=False)
    pattern = PatternPicker()
    cloth = ClothPicker()
    length = ClothLengthField(label="How much of it", required=False)

    class Meta:
        model = Make
        fields = [
            "words", "heat", "note", "kind", "whom", "season", "occasion", "pattern", "changes",
            "minutes", "wear_by", "planned", "finished_on", "learnt",
        ]  # fmt: skip
        widgets = {"season": Chips, "wear_by": day_input()}
        labels = {"wear_by": "To be worn on, if there is such a day"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            over = self.instance.finished_on is not None
            with_cloth = over or self.instance.cloth_plans.exists()
            with_pattern = over or self.instance.pattern_id
            for name in (ON_THE_CARD if with_pattern else ()) + (OF_CLOTH if with_cloth else ()):
                del self.fields[name]
        if self.instance.finished_on is None:
            for name in WHEN_FINISHED:
                del self.fields[name]
        else:
            self.fields["finished_on"].required = True

    def clean(self) -> dict[str, Any]:
        facts = super().clean() or {}
        if facts.get("planned") and not facts.get("wear_by") and "wear_by" not in self.errors:
            self.add_error("wear_by", "Name the day, so that it can be planned like a promise.")
        return facts


class IdeaForm(CardForm, QuickForm):
    """A new card with everything on it that the owner cares to say now."""

    def clean(self) -> dict[str, Any]:
        return _with_something(self, super().clean())


class FinishForm(StudioFormMixin, forms.Form):
    """How it turned out. Only the day is needed, and it is there already.

    Of each of its cloths on the shelf it is asked once what is left; what will be left stands there
    where one can tell, and an empty field says nothing.
    """

    use_required_attribute = False
    photo = PictureField(label="Photograph", required=False)
    day = PastDayField(label="Finished on", initial=clock.today)

    size = forms.CharField(label="Size sewn", max_length=20, required=False)

    def __init__(
        self, *args: Any, cloths: Iterable[ClothOfMake], make: Make | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, auto_id="finish_%s", **kwargs)
        if make and make.pattern_id and not make.size:
            self.fields["size"].label = f"Size sewn of {make.pattern}"
        else:
            del self.fields["size"]
        self.cloths = {f"left-{row.cloth.pk}": row for row in cloths if row.cloth.gone_at is None}
        for name, row in self.cloths.items():
            known = row.rest is not None
            shown = show_cloth(row.left_after, row.cloth.unit)
            self.fields[name] = left = ClothLengthField(
                label=f"What is left of {row.cloth}?", required=False, zero=True,
                initial=shown if known else "",
            )  # fmt: skip
            if not known:
                left.widget.attrs["placeholder"] = f"of {shown}"
            left.bare = "yd" if row.cloth.unit == Cloth.Unit.YARD else "m"
        self.order_fields([*self.cloths, "size", "photo", "day"])

    def facts(self) -> dict[str, Any]:
        """What the action is told besides the make and who does it."""
        said = self.cleaned_data
        left = {row.cloth: said[name] for name, row in self.cloths.items() if said[name]}
        size = said.get("size") or None
        return {"day": said["day"], "photo": said["photo"], "left": left, "size": size}


class MorePicturesForm(forms.Form):
    """One more picture of a make: photographed or drawn."""

    photo = PictureField(label="Photograph", required=False)
    photos = PicturesField(label="Pictures", required=False)
    shows = forms.TypedChoiceField(
        choices=Picture.Step.choices, coerce=Picture.Step, empty_value=Picture.Step.IDEA,
        required=False,
    )  # fmt: skip
    sketch = SketchField(required=False)
    form_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    def clean(self) -> dict[str, Any]:
        sent = super().clean() or {}
        if not self.errors and not any(sent.get(name) for name in ("photo", "photos", "sketch")):
            self.add_error("photo", "Choose a photograph, or draw one.")
        return sent


class StepForm(forms.Form):
    """What the small buttons on a card send: one of these."""

    heat = forms.TypedChoiceField(choices=HEATS, coerce=int, empty_value=None, required=False)
    fate = forms.TypedChoiceField(choices=Fate.choices, coerce=Fate, required=False)
    to = forms.TypedChoiceField(
        choices=[(state.value, state.label) for state in NOT_PUT_AWAY],
        coerce=MakeState,
        required=False,
    )
