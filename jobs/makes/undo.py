"""What was done is said once, with a button that takes it back."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.urls import reverse

from jobs.makes import verbs
from studio.shop import history
from studio.shop.http import StudioRequest
from studio.shop.models import Entry

OURS = [verb.key for verb in history.all_verbs() if verb.key.split(".")[0] in verbs.THINGS]


class UndoForm(forms.Form):
    entry = forms.ModelChoiceField(Entry.objects.filter(verb__in=OURS))


def message_of(
    request: StudioRequest,
    entry: Entry,
    *,
    back: str,
    undo: str = "",
    aside: str = "",
    **more: object,
) -> str:
    """What was done, for the page, with its button, which leads to ``back``.

    ``aside`` is what follows from the step and is said with it. The button sends ``more`` to the
    address ``undo``.
    """
    shown = {"entry": entry, "aside": aside, "undo": undo or reverse("own-undo"), "more": more}
    return render_to_string("makes/_done.html", shown | {"back": back}, request)


def done(
    request: StudioRequest,
    entry: Entry | None,
    to: str,
    *,
    undone_to: str = "",
    **facts: Any,
) -> HttpResponse:
    """Go on to the page ``to``, where ``entry`` is said; what changed nothing passes in silence.

    ``undone_to`` is where the button leads if ``to`` will be gone.
    """
    if entry:
        messages.success(request, message_of(request, entry, back=undone_to or to, **facts))
    return redirect(to)


def take_back(request: StudioRequest, key: str | int | None) -> Entry | None:
    """Undo the entry with this key, and say so; gives it, or None where that cannot be."""
    form = UndoForm({"entry": key})
    if not form.is_valid():
        messages.error(request, "This can be undone no more.")
        return None
    entry: Entry = form.cleaned_data["entry"]
    try:
        undone = history.undo(entry=entry, by=request.user)
    except history.HistoryError as wrong:
        messages.error(request, str(wrong))
        return None
    messages.success(request, history.sentence(undone, request.studio.locale))
    return entry
