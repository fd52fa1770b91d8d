"""What is done on the card of a make: its texts, pictures, cloth, patterns, piles and season.

What is small stands on the card itself and comes back to it; what is chosen among many pictures, or
written at some length, has a page of its own, so that all of it works without JavaScript. The
card's own page is ``jobs.planning.own.make_card``, for it shows hours as well.
"""

from typing import Any
from uuid import uuid4

from django import forms
from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from clients.fields import unit_of
from clients.forms import FindForm
from clients.models import GoneError
from clients.queries import entry_of_its_own, find_clients
from jobs.makes.by_sheet import by_sheet
from jobs.makes.ideas import actions, queries
from jobs.makes.ideas.actions import CardMadeError, MakeError
from jobs.makes.lengths import ClothLengthField
from jobs.makes.models import (
    Cloth,
    FurtherPattern,
    Make,
    MakeState,
    Pattern,
    Picture,
    Pile,
)
from jobs.makes.pickers import ClothPicker, PatternPicker
from jobs.makes.shelf.actions import ShelfError, cut
from jobs.makes.shelf.forms import HOW_MUCH
from jobs.makes.undo import done
from jobs.makes.wall import actions as wall
from jobs.makes.wall.forms import coming_seasons
from jobs.makes.year.actions import hope
from jobs.makes.year.seasons import Season
from studio.shop.forms import HoursField, ModelForm, MoneyField, OnceForm, StudioFormMixin
from studio.shop.http import StudioRequest, sent
from studio.shop.models import Entry, Profile
from studio.shop.together import OpenCard, edit_card

FORM = require_http_methods(["GET", "POST"])
ALIKE = {"autocomplete": "off", "form": "texts", "dir": "auto"}
LONG = forms.Textarea(attrs={"rows": 3, "form": "texts", "dir": "auto"})


MOST_DIGITS, MOST_FOUND = 19, 12
BEGUN = (MakeState.UNDER_WAY, MakeState.RESTING)


class TextsForm(StudioFormMixin, ModelForm):
    """What is written on the card itself: its fields stand where they are read, in one form."""

    use_required_attribute = False
    minutes = HoursField(label="Hours, guessed", week=True)
    paid = MoneyField(label="Paid for notions", required=False)

    class Meta:
        model = Make
        fields = ("stopped", "minutes", "changes", "learnt", "note", "paid")
        widgets = {
            "stopped": forms.TextInput(attrs=ALIKE), "note": LONG, "learnt": LONG, "changes": LONG,
        }  # fmt: skip
        labels = {"stopped": "Stopped at", "note": "Notes"}

    def __init__(self, *args: Any, money: bool, **kwargs: Any) -> None:
        super().__init__(*args, auto_id="card_%s", **kwargs)
        for name in ("minutes", "paid"):
            self.fields[name].widget.attrs |= ALIKE
        if not money:
            del self.fields["paid"]
        if self.instance.state not in BEGUN and not self.instance.stopped:
            del self.fields["stopped"]
        if self.instance.pattern_id or not self.instance.changes:
            del self.fields["changes"]
        if self.instance.finished_on is None:
            del self.fields["learnt"]


def texts_form(request: StudioRequest, row: Make, data: QueryDict | None = None) -> TextsForm:
    return TextsForm(data, instance=row, studio=request.studio, money=request.user.is_owner)


@require_POST
def say(request: StudioRequest, pk: int) -> HttpResponse:
    """The texts of the card, as soon as a field is left; without JavaScript with a button."""
    card = get_object_or_404(Make, pk=pk)

    def save(edited: OpenCard) -> Entry | None:
        return actions.describe(make=card, by=request.user, **edited.form.cleaned_data)

    edited = edit_card(request, card, lambda data, row: texts_form(request, row, data), save)
    if edited.saved:
        return done(request, edited.entry, card.get_absolute_url())
    return render(request, "makes/ideas/texts.html", {"make": card, "form": edited.form})


@require_POST
def picture_says(request: StudioRequest, pk: int, picture: int) -> HttpResponse:
    """What a picture shows, or that it is the face; empty, the face is the newest again."""
    card = get_object_or_404(Make, pk=pk)
    row = get_object_or_404(card.pictures, pk=picture)
    back = f"{card.get_absolute_url()}?picture={row.pk}"
    if "face" in request.POST:
        chosen = row if request.POST["face"] else None
        return done(request, actions.choose_face(make=card, picture=chosen, by=request.user), back)
    shows = request.POST.get("shows", "")
    if shows not in Picture.Step.values:
        messages.error(request, "Choose what the picture shows.")
        return redirect(back)
    step = Picture.Step(shows)
    entry = actions.say_step(make=card, picture=row, shows=step, by=request.user)
    return done(request, entry, back)


class MeantClothForm(StudioFormMixin, forms.Form):
    """A cloth of the shelf and a length of it; a bare number is read as that cloth was bought."""

    use_required_attribute = False
    cloth = ClothPicker(required=True, blank=False, error_messages={"required": "Choose a cloth."})
    length = ClothLengthField(label="How much of it", required=False)

    def clean_cloth(self) -> Cloth:
        cloth: Cloth = self.cleaned_data["cloth"]
        self.fields["length"].bare = "yd" if cloth.unit == Cloth.Unit.YARD else "m"  # type: ignore[attr-defined]
        return cloth


class CutClothForm(OnceForm, MeantClothForm):
    length = ClothLengthField(label="Used", error_messages=HOW_MUCH)
    field_order = ("cloth", "length")


@FORM
def cloth(request: StudioRequest, pk: int) -> HttpResponse:
    """Cloth that is meant for it, chosen among all that is there."""
    card = get_object_or_404(Make, pk=pk)
    form = MeantClothForm(sent(request), studio=request.studio)
    if form.is_valid():
        entry = actions.mean_cloth(make=card, by=request.user, **form.cleaned_data)
        return done(request, entry, card.get_absolute_url())
    return _choose(request, card, form, title="Cloth for {}", button="Save")


@FORM
def cut_cloth(request: StudioRequest, pk: int) -> HttpResponse:
    """Cloth is cut for it; also for what was made on a whim, and is finished."""
    card = get_object_or_404(Make, pk=pk)
    form = CutClothForm(sent(request), studio=request.studio)
    if form.is_valid():
        try:
            entry = cut(make=card, by=request.user, **form.cleaned_data)
        except ShelfError as wrong:
            form.add_error(wrong.field or None, str(wrong))
        else:
            return done(request, entry, card.get_absolute_url())
    return _choose(request, card, form, title="Cut for {}", button="Cut")


def _choose(
    request: StudioRequest, card: Make, form: forms.Form, *, title: str, button: str
) -> HttpResponse:
    shown = {"make": card, "form": form, "title": title.format(card), "button": button}
    return render(request, "makes/ideas/choose.html", shown)


@FORM
def whom(request: StudioRequest, pk: int) -> HttpResponse:
    """Somebody of the studio's book, found as everywhere, or none of them any more."""
    card = queries.make_or_404(pk)
    if request.method == "POST":
        chosen, client = request.POST.get("client", ""), None
        if chosen.isdecimal() and len(chosen) < MOST_DIGITS:
            client = entry_of_its_own(int(chosen))
        try:
            entry = actions.sew_for(make=card, client=client, by=request.user)
        except GoneError as wrong:
            messages.error(request, str(wrong))
            return redirect("make-whom", pk)
        return done(request, entry, card.get_absolute_url())
    form = FindForm(request.GET)
    text = form.cleaned_data["q"] if form.is_valid() else ""
    shown = {"make": card, "form": form, "text": text, "found": find_clients(text, MOST_FOUND)}
    return render(request, "makes/ideas/whom.html", shown)


class SewFromForm(forms.Form):
    use_required_attribute = False
    pattern = PatternPicker(
        required=True, blank=False, error_messages={"required": "Choose a pattern."}
    )
    size = forms.CharField(max_length=20, required=False)


@FORM
def pattern(request: StudioRequest, pk: int) -> HttpResponse:
    """One more pattern, chosen among all in the drawer."""
    card = get_object_or_404(Make, pk=pk)
    form = SewFromForm(sent(request))
    if form.is_valid():
        facts = form.cleaned_data | {"size": form.cleaned_data["size"] or None}
        entry = actions.use_pattern(make=card, by=request.user, **facts)
        return done(request, entry, card.get_absolute_url())
    return _choose(request, card, form, title="Pattern for {}", button="Sew from this")


@FORM
def pattern_edit(request: StudioRequest, pk: int, pattern: int) -> HttpResponse:
    """Size and changes of one of its patterns."""
    card = get_object_or_404(Make, pk=pk)
    row: Make | FurtherPattern = card
    if card.pattern_id != pattern:
        row = get_object_or_404(card.further_patterns, pattern=pattern)
    envelope = get_object_or_404(Pattern, pk=pattern)
    form_class = forms.modelform_factory(
        type(row),
        form=ModelForm,
        fields=("size", "changes"),
        labels={"size": "Size sewn", "changes": "What is changed"},
        widgets={"changes": forms.Textarea(attrs={"rows": 4, "dir": "auto"})},
    )

    def save(edited: OpenCard) -> Entry | None:
        texts = edited.form.cleaned_data
        return actions.use_pattern(make=card, pattern=envelope, by=request.user, **texts)

    edited = edit_card(request, row, lambda data, row: form_class(data, instance=row), save)
    if edited.saved:
        return done(request, edited.entry, card.get_absolute_url())
    sheet = by_sheet([card], by=request.user).get(card.pk)
    for size in sheet.sizes(unit_of(request.studio)) if sheet else []:
        if sheet and size.pattern == envelope:
            words = f"{size.nearest} is nearest by the {size.by} of {sheet.client}."
            edited.form.fields["size"].help_text = words
    shown = {"make": card, "pattern": envelope, "form": edited.form}
    return render(request, "makes/ideas/pattern.html", shown)


@require_POST
def pattern_off(request: StudioRequest, pk: int, pattern: int) -> HttpResponse:
    card, row = get_object_or_404(Make, pk=pk), get_object_or_404(Pattern, pk=pattern)
    entry = actions.spare_pattern(make=card, pattern=row, by=request.user)
    return done(request, entry, card.get_absolute_url())


@require_POST
def make_again(request: StudioRequest, pk: int) -> HttpResponse:
    return _again(request, make=get_object_or_404(Make, pk=pk))


@require_POST
def pattern_again(request: StudioRequest, pk: int) -> HttpResponse:
    return _again(request, pattern=get_object_or_404(Pattern, pk=pk))


def _again(request: StudioRequest, **thing: Any) -> HttpResponse:
    """A new card; sent twice it is the same one."""
    field = forms.UUIDField(required=False)
    try:
        form_key = field.clean(request.POST.get("form_key")) or uuid4()
    except forms.ValidationError:
        form_key = uuid4()
    try:
        make, entry = actions.sew_again(form_key=form_key, by=request.user, **thing)
    except CardMadeError as made:
        return redirect(made.make)
    return done(request, entry, make.get_absolute_url())


class LiesInForm(forms.Form):
    """A pile it shall lie in, or lie in no longer; or the name of a new one."""

    into = forms.ModelChoiceField(Pile.objects.all(), required=False)
    out_of = forms.ModelChoiceField(Pile.objects.all(), required=False)
    name = forms.CharField(max_length=60, required=False)


@require_POST
def pile(request: StudioRequest, pk: int) -> HttpResponse:
    card, form, by = get_object_or_404(Make, pk=pk), LiesInForm(request.POST), request.user
    back, entry = card.get_absolute_url(), None
    if not form.is_valid():
        messages.error(request, "This pile is not there any more.")
        return redirect(back)
    choice = form.cleaned_data
    try:
        if choice["into"]:
            entry = wall.arrange(make=card, to=choice["into"], also=True, by=by)
        elif choice["out_of"]:
            entry = wall.take_out(make=card, pile=choice["out_of"], by=by)
        elif choice["name"]:
            _, entry = wall.add_pile(name=choice["name"], makes=[card], by=by)
    except MakeError as wrong:
        messages.error(request, str(wrong))
    return done(request, entry, back)


def seasons_to_come(studio: Profile) -> dict[str, Season]:
    """By what the card sends for each."""
    return {row.first.isoformat(): row for row in coming_seasons(studio)}


@require_POST
def season(request: StudioRequest, pk: int) -> HttpResponse:
    """Hoped for in a season to come, or some time."""
    card, entry = get_object_or_404(Make, pk=pk), None
    try:
        to = seasons_to_come(request.studio).get(request.POST.get("season", ""))
        entry = hope(thing=card, to=to, by=request.user)
    except MakeError as wrong:
        messages.error(request, str(wrong))
    return done(request, entry, reverse("make", args=[pk]))
