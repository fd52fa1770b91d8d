"""New ideas, what was made, one make and its pictures, and the small buttons on a card."""

from collections.abc import Callable
from contextlib import suppress
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.forms import Form
from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes import pictures
from jobs.makes.ideas import actions, queries
from jobs.makes.ideas.actions import MakeError
from jobs.makes.ideas.capture import SHARED, shared
from jobs.makes.ideas.forms import (
    CardForm,
    FinishForm,
    IdeaForm,
    MorePicturesForm,
    QuickForm,
    StepForm,
)
from jobs.makes.models import Cloth, Make, Picture
from jobs.makes.shelf.actions import ShelfError
from jobs.makes.tables import FATES
from jobs.makes.undo import done
from studio.shop.http import StudioRequest, go_back, sent
from studio.shop.models import Entry
from studio.shop.together import OpenCard, edit_card

AS_CHANGE, AS_ANOTHER = "change", "another"
"""What becomes of a form that was saved before and says something else now."""


@require_http_methods(["GET", "POST"])
def idea_new(request: StudioRequest) -> HttpResponse:
    """The whole card; pictures and the few words of *New idea* are sent here too.

    ``cloth`` and ``pattern`` of the address are chosen already.
    """
    if request.method == "GET":
        fields, held = shared(request)
        asked = {name: request.GET[name] for name in ("cloth", "pattern") if name in request.GET}
        form = IdeaForm(studio=request.studio, initial=fields | asked)
        return _new_card(request, form, held)
    form = IdeaForm(request.POST, request.FILES, studio=request.studio)
    pictures = _kept(form)
    if not form.is_valid():
        return _new_card(request, form, pictures)
    facts = form.cleaned_data
    for name in ("photo", "photos", "sketch", "held"):
        del facts[name]
    intent, form_key = request.POST.get("intent", ""), facts.pop("form_key")
    if intent == AS_CHANGE and (made := Make.objects.filter(form_key=form_key).first()):
        entry = actions.describe(
            make=made, by=request.user, pictures=queries.other_pictures(made, pictures), **facts
        )
        return done(request, entry, made.get_absolute_url())
    if intent == AS_ANOTHER:
        form_key = uuid4()
    try:
        make, _ = actions.add_idea(pictures=pictures, by=request.user, form_key=form_key, **facts)
    except actions.CardMadeError as saved:
        differs = queries.differing(saved.make, facts, pictures, form)
        return _new_card(request, form, pictures, made=saved.make, differs=differs)
    request.session.pop(SHARED, None)
    if "more" in request.POST:
        return redirect("make-edit", make.pk)
    return redirect(f"{reverse('own')}?kept={make.pk}")


@require_POST
def whim(request: StudioRequest) -> HttpResponse:
    """Made today, from nothing."""
    form = QuickForm(request.POST, request.FILES)
    pictures = _kept(form)
    if not form.is_valid():
        card = IdeaForm(request.POST, request.FILES, studio=request.studio)
        return _new_card(request, card, pictures)
    words, form_key = form.cleaned_data["words"], form.cleaned_data["form_key"]
    try:
        make, entry = actions.made_on_a_whim(
            words=words, form_key=form_key, pictures=pictures, by=request.user
        )
    except actions.CardMadeError as saved:
        card = IdeaForm(request.POST, request.FILES, studio=request.studio)
        differs = queries.differing(saved.make, {"words": words}, pictures, card)
        differs += [] if saved.make.whim else ["Made already"]
        return _new_card(request, card, pictures, made=saved.make, differs=differs)
    return done(request, entry, make.get_absolute_url())


def _kept(form: QuickForm | IdeaForm) -> list[Picture]:
    """The pictures of a form, kept at once, so that a wrong field elsewhere loses none."""
    form.full_clean()
    sent = form.cleaned_data
    held = list(sent.get("held", []))
    key = sent.get("form_key")
    made = Make.objects.filter(form_key=key).first() if key else None
    photos = [photo for photo in [sent.get("photo"), *sent.get("photos", [])] if photo]
    sketch = sent.get("sketch")
    if made:
        photos = [photo for photo in photos if not queries.has_picture(made, photo.jpeg)]
        sketch = None if sketch and queries.has_picture(made, sketch.jpeg) else sketch
    return held + actions.keep_pictures(photos=photos, sketch=sketch)


def _new_card(
    request: StudioRequest, form: IdeaForm, held: list[Picture] | None = None, **more: object
) -> HttpResponse:
    return render(request, "makes/ideas/new.html", {"form": form, "held": held or []} | more)


@require_http_methods(["GET", "POST"])
def edit(request: StudioRequest, pk: int) -> HttpResponse:
    card = get_object_or_404(Make, pk=pk)

    def save(edited: OpenCard) -> Entry | None:
        return actions.describe(make=card, by=request.user, **edited.form.cleaned_data)

    edited = edit_card(
        request,
        card,
        lambda data, row: CardForm(data, instance=row, studio=request.studio),
        save,
    )
    if edited.saved:
        return done(request, edited.entry, card.get_absolute_url())
    return render(request, "makes/ideas/edit.html", {"make": card, "form": edited.form})


@require_http_methods(["GET", "POST"])
def finish(request: StudioRequest, pk: int) -> HttpResponse:
    """How it turned out, and what is left of its cloth: asked once, and all of it may wait."""
    card = queries.make_or_404(pk)
    form = FinishForm(
        sent(request), request.FILES or None,
        cloths=queries.cloths_of(card), make=card, studio=request.studio,
    )  # fmt: skip
    if form.is_valid():
        try:
            entry = actions.finish(make=card, by=request.user, **form.facts())
        except MakeError as wrong:
            messages.error(request, str(wrong))
            return redirect(card)
        except ShelfError as wrong:
            form.add_error(None, str(wrong))
        else:
            return done(request, entry, card.get_absolute_url())
    return render(request, "makes/ideas/finish.html", {"make": card, "form": form})


@require_GET
def picture(request: StudioRequest, pk: int) -> FileResponse:
    return pictures.show(get_object_or_404(Picture, pk=pk))


@require_GET
def picture_small(request: StudioRequest, pk: int) -> FileResponse:
    return pictures.show_small(get_object_or_404(Picture, pk=pk))


@require_POST
def picture_add(request: StudioRequest, pk: int) -> HttpResponse:
    card = get_object_or_404(Make, pk=pk)
    form = MorePicturesForm(request.POST, request.FILES)
    if not form.is_valid():
        return _refused(request, form, card.get_absolute_url())
    sent = form.cleaned_data
    photo = sent.pop("photo")
    sent["photos"] += [photo] if photo else []
    sent["shows"] = sent["shows"] or Picture.Step.IDEA
    entry = actions.add_pictures(make=card, by=request.user, **sent)
    return done(request, entry, card.get_absolute_url())


@require_POST
def picture_off(request: StudioRequest, pk: int, picture: int) -> HttpResponse:
    card = get_object_or_404(Make, pk=pk)
    row = get_object_or_404(card.pictures, pk=picture)
    entry = actions.take_picture_off(make=card, picture=row, by=request.user)
    return done(request, entry, card.get_absolute_url())


@require_POST
def cloth_off(request: StudioRequest, pk: int, cloth: int) -> HttpResponse:
    card = get_object_or_404(Make, pk=pk)
    row = get_object_or_404(Cloth, pk=cloth)
    entry = actions.spare_cloth(make=card, cloth=row, by=request.user)
    return done(request, entry, card.get_absolute_url())


STEPS: dict[str, Callable[..., Entry | None]] = {
    "start": actions.start,
    "made": actions.finish,
    "let_go": actions.let_go,
    "take_up": actions.take_up,
}


@require_POST
def take(request: StudioRequest, pk: int, verb: str) -> HttpResponse:
    """A step that needs no more to be said."""
    return _step(request, get_object_or_404(Make, pk=pk), STEPS[verb])


@require_POST
def move(request: StudioRequest, pk: int) -> HttpResponse:
    """To another part of the wall, on top of what lies there."""
    card = get_object_or_404(Make, pk=pk)
    form = StepForm(request.POST)
    if not form.is_valid():
        return _refused(request, form, go_back(request, card).url)
    if to := form.cleaned_data["to"]:
        return _step(request, card, actions.move_card, to=to)
    return go_back(request, card)


@require_POST
def heat(request: StudioRequest, pk: int) -> HttpResponse:
    card, form = get_object_or_404(Make, pk=pk), StepForm(request.POST)
    if not form.is_valid():
        return _refused(request, form, go_back(request, card).url)
    return _step(request, card, actions.set_heat, heat=form.cleaned_data["heat"])


@require_POST
def fate(request: StudioRequest, pk: int) -> HttpResponse:
    card, form = get_object_or_404(Make, pk=pk), StepForm(request.POST)
    if not form.is_valid():
        return _refused(request, form, go_back(request, card).url)
    given = form.cleaned_data["fate"]
    if request.htmx:
        with suppress(MakeError):
            actions.set_fate(make=card, fate=given, by=request.user)
        card.refresh_from_db()
        return render(request, "makes/ideas/_fate.html", {"record": card, "fates": FATES})
    return _step(request, card, actions.set_fate, fate=given)


def _step(
    request: StudioRequest,
    card: Make,
    act: Callable[..., Entry | None],
    back: str = "",
    **facts: Any,
) -> HttpResponse:
    """Take one step on a make and go back to where its button was."""
    back = back or go_back(request, card).url
    try:
        entry = act(make=card, by=request.user, **facts)
    except MakeError as wrong:
        messages.error(request, str(wrong))
        return redirect(back)
    return done(request, entry, back, aside=queries.freed_by(entry))


def _refused(request: StudioRequest, form: Form, back: str) -> HttpResponse:
    """Say what was wrong with a small form that has no page of its own."""
    for field in form:
        for wrong in field.errors:
            messages.error(request, f"{field.label}: {wrong}")
    return redirect(back)
