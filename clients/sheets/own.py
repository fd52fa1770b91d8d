"""The owner's own measures and sets: the list of both, and the card of each."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from clients.fields import LengthField
from clients.fit.lengths import show_length
from clients.fit.measures import MEASURES, SETS, BodyMeasure
from clients.models import Measured, MeasureSet, OwnMeasure
from clients.sheets import actions
from clients.sheets.figure import Doll, cloth, tape_on
from clients.sheets.files import twin_of
from clients.sheets.queries import all_measures
from studio.shop.forms import Chips, ModelForm, StudioFormMixin
from studio.shop.http import StudioRequest, owner_only, say, sent
from studio.shop.look.garments import KINDS
from studio.shop.models import Entry, Profile
from studio.shop.text import fold
from studio.shop.together import edit_card

ENDS = ("low", "high")
NAMED = {"life": "Lifejacket", "protective": "Work wear", "night": "Nightwear", "child": "Child's"}
# The garments that one may choose, by their drawings.
GARMENTS = sorted(
    ((name, NAMED.get(name, name.capitalize())) for name, _ in KINDS), key=lambda pair: pair[1]
)


class OwnMeasureForm(StudioFormMixin, ModelForm):
    """What a measure is called, how it is taken, and when a value is worth a question."""

    low = LengthField(label="Usually from", required=False)
    high = LengthField(label="Usually to", required=False, help_text="Outside it is asked about.")
    position = forms.IntegerField(
        label="Place among your own",
        min_value=1,
        max_value=999,
        required=False,
        help_text="Empty: the last.",
    )

    class Meta:
        model = OwnMeasure
        fields = ("of", "name", "how", "kind", "at", "sided")
        labels = {
            "of": "It is of",
            "how": "How it is taken, in one sentence",
            "sided": "Left and right may differ",
        }
        widgets = {"of": Chips, "kind": Chips}

    def __init__(self, *args: Any, studio: Profile, **kwargs: Any) -> None:
        super().__init__(*args, studio=studio, **kwargs)
        places = [(key, measure.name) for key, measure in MEASURES.items()]
        self.fields["at"] = forms.ChoiceField(
            label="Where on the figure",
            choices=[("", "No place: the figure without a tape"), *places],
            required=False,
        )
        self.fields["drawings"] = forms.MultipleChoiceField(
            label="On which garments",
            choices=GARMENTS,
            required=False,
            initial=self.instance.drawings,
        )
        if self.instance.pk:  # what is on sheets or garments stays of what it was
            del self.fields["of"]
        self.initial["position"] = self.instance.place or None
        unit = self.fields["low"].unit  # type: ignore[attr-defined]
        for end in ENDS:
            if (mm := getattr(self.instance, f"{end}_mm")) is not None:
                self.initial[end] = show_length(mm, unit)

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        if not name[:1].isalpha():
            raise ValidationError("Begin the name with a letter.", code="letter")
        of = self.cleaned_data.get("of") or self.instance.of
        if twin := twin_of(OwnMeasure(pk=self.instance.pk, name=name, of=of)):
            raise ValidationError(twin, code="twin")
        return name

    def clean_sided(self) -> bool:
        sided: bool = self.cleaned_data["sided"]
        taken = Measured.objects.filter(own=self.instance.pk).exclude(side="")
        if not sided and self.instance.pk and taken.exists():
            raise ValidationError("A sheet has left and right of it.", code="sides")
        return sided

    def clean(self) -> dict[str, Any]:
        super().clean()
        low, high = (self.cleaned_data.get(end) for end in ENDS)
        if not any(end in self.errors for end in ENDS):
            if bool(low) != bool(high):
                self.add_error("high" if low else "low", "Write both ends, or neither.")
            elif low and high and low.mm >= high.mm:
                self.add_error("high", "The high end is above the low one.")
        garment = (self.cleaned_data.get("of") or self.instance.of) == OwnMeasure.Of.GARMENT
        self.instance.drawings = self.cleaned_data.get("drawings", []) if garment else []
        if garment:
            self.cleaned_data["at"] = ""
        # An end that nobody touched keeps its millimetres, which the page shows rounded.
        for end, length in zip(ENDS, (low, high), strict=True):
            if end in self.changed_data:
                setattr(self.instance, f"{end}_mm", length and length.mm)
        return self.cleaned_data

    @property
    def place(self) -> int:
        """Among the others from 1; the last where nothing was said."""
        return self.cleaned_data.get("position") or OwnMeasure.objects.count() + 1


@dataclass(frozen=True)
class SetMember:
    """A measure to choose for a set. ``number`` is its place in it, empty where it is not."""

    measure: BodyMeasure
    number: int | str

    @property
    def tape(self) -> Doll:
        return tape_on(self.measure.at)


class SetForm(ModelForm):
    """A name, and the measures in the order in which they were pressed."""

    measures = forms.MultipleChoiceField(
        required=True, error_messages={"required": "Choose at least one measure."}
    )
    # Which came after which; without the script it is the order of the list.
    order = forms.CharField(required=False, widget=forms.HiddenInput)

    class Meta:
        model = MeasureSet
        fields = ("name",)

    def __init__(self, *args: Any, known: dict[str, BodyMeasure], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kept = self.instance.keys
        self.known = {
            key: measure for key, measure in known.items() if key in kept or not measure.retired
        }
        self.fields["measures"].choices = [  # type: ignore[attr-defined]
            (key, measure.name) for key, measure in self.known.items()
        ]
        self.initial.update(measures=[*kept], order=" ".join(kept))

    def clean_name(self) -> str:
        name = " ".join(self.cleaned_data["name"].split())
        own = MeasureSet.objects.exclude(pk=self.instance.pk).values_list("name", flat=True)
        if fold(name) in {fold(other) for other in (*SETS.values(), "Usual", "All", *own)}:
            raise ValidationError(f"There is a set “{name}” already.", code="twin")
        return name

    def _ordered(self, chosen: list[str], order: str) -> list[str]:
        pressed = [key for key in dict.fromkeys(order.split()) if key in chosen]
        return pressed + [key for key in self.known if key in chosen and key not in pressed]

    def clean(self) -> dict[str, Any]:
        super().clean()
        chosen = self.cleaned_data.get("measures", [])
        self.instance.keys = self._ordered(chosen, self.cleaned_data.get("order", ""))
        return self.cleaned_data

    def choices(self) -> list[SetMember]:
        """Every measure; those that are in the set with their place."""
        chosen = self["measures"].value() or []
        keys = self._ordered(chosen, self["order"].value() or "")
        numbers: dict[str, int] = {key: number for number, key in enumerate(keys, start=1)}
        return [SetMember(measure, numbers.get(key, "")) for key, measure in self.known.items()]


@owner_only
@require_safe
def own_measures(request: StudioRequest) -> HttpResponse:
    measures = list(OwnMeasure.objects.all())
    rows = [(row, tape_on(row.at)) for row in measures if row.of == OwnMeasure.Of.BODY]
    pieces = [row for row in measures if row.of == OwnMeasure.Of.GARMENT]
    known = MEASURES | {row.key: row.as_measure() for row in measures}
    sets = [
        (chosen, [known[key].name for key in chosen.keys if key in known])
        for chosen in MeasureSet.objects.all()
    ]
    context = {"rows": rows, "pieces": pieces, "sets": sets, "cloth": cloth()}
    return render(request, "clients/sheets/own.html", context)


@owner_only
@require_http_methods(["GET", "HEAD", "POST"])
def own_measure_new(request: StudioRequest) -> HttpResponse:
    start = {"of": request.GET.get("of", OwnMeasure.Of.BODY)}
    form = OwnMeasureForm(sent(request), studio=request.studio, initial=start)
    if form.is_valid() and (entry := _keep(form, request)):
        words = f"“{form.instance.name}” is asked from now on."
        if at := MEASURES.get(form.instance.at):
            words += f" It lies where “{at.name}” does: if it is the same, remove it and take that."
        return _done(request, words, entry)
    return render(request, "clients/sheets/own_measure.html", {"form": form})


@owner_only
@require_http_methods(["GET", "HEAD", "POST"])
def own_measure(request: StudioRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(OwnMeasure, pk=pk)
    if request.POST.get("intent") == "remove":
        entry = actions.remove_own_measure(measure=row, by=request.user)
        return _done(request, f"“{row.name}” is no longer asked. What has it keeps it.", entry)
    if request.POST.get("intent") == "back":
        entry = actions.return_own_measure(measure=row, by=request.user)
        return _done(request, f"“{row.name}” is asked again.", entry)

    def form_of(data: QueryDict | None, measure: OwnMeasure) -> OwnMeasureForm:
        return OwnMeasureForm(data, instance=measure, studio=request.studio)

    card = edit_card(request, row, form_of, lambda card: _keep(card.form, request))
    if card.saved:
        return _done(request, f"“{card.form.instance.name}” saved.", card.entry)
    context = {"form": card.form, "measure": row, "tape": tape_on(row.at), "cloth": cloth()}
    return render(request, "clients/sheets/own_measure.html", context)


def _keep(form: OwnMeasureForm, request: StudioRequest) -> Entry | None:
    try:
        return actions.save_own_measure(measure=form.instance, place=form.place, by=request.user)
    except actions.SheetError as error:
        form.add_error("name", str(error))
        return None


@owner_only
@require_http_methods(["GET", "HEAD", "POST"])
def measure_set_new(request: StudioRequest) -> HttpResponse:
    form = SetForm(sent(request), known=all_measures())
    if form.is_valid():
        entry = actions.save_set(chosen=form.instance, by=request.user)
        return _done(request, f"“{form.instance.name}” is a set from now on.", entry)
    return render(request, "clients/sheets/set.html", {"form": form, "cloth": cloth()})


@owner_only
@require_http_methods(["GET", "HEAD", "POST"])
def measure_set(request: StudioRequest, pk: int) -> HttpResponse:
    chosen = get_object_or_404(MeasureSet, pk=pk)
    if request.POST.get("intent") == "remove":
        entry = actions.remove_set(chosen=chosen, by=request.user)
        return _done(request, f"“{chosen.name}” removed.", entry)
    form = SetForm(sent(request), instance=chosen, known=all_measures())
    if form.is_valid():
        entry = actions.save_set(chosen=form.instance, by=request.user)
        return _done(request, f"“{form.instance.name}” saved.", entry)
    context = {"form": form, "set": pk, "cloth": cloth()}
    return render(request, "clients/sheets/set.html", context)


def _done(request: StudioRequest, words: str, entry: Entry | None) -> HttpResponse:
    """Back to the list, with the way back of what was done."""
    back = reverse("own-measures")
    if entry:
        say(request, words, undo=reverse("studio-undo"), entry=entry.pk, back=back)
    else:
        messages.info(request, "Nothing was changed.")
    return redirect(back)
