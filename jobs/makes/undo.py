"""What was done is said once, with a button that takes it back, and stays to be read in a list."""

from typing import Any, TypeVar

from django import forms
from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from jobs.makes import verbs
from jobs.makes.models import Cloth, Make, Pattern, Release
from studio.shop import history
from studio.shop.history.pages import changes_page
from studio.shop.http import StudioRequest, go_back
from studio.shop.models import Entry

OURS = rf"^({'|'.join(verbs.THINGS)})\."
LISTS = {verb.key: page for verb, page in verbs.LISTS.items()}

Thing = TypeVar("Thing", Make, Cloth, Pattern, Release)


class UndoForm(forms.Form):
    entry = forms.ModelChoiceField(Entry.objects.filter(verb__regex=OURS))


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


def done(request: StudioRequest, entry: Entry | None, to: str, **facts: Any) -> HttpResponse:
    """Go on to the page ``to``, where ``entry`` is said; what changed nothing passes in silence."""
    if entry:
        messages.success(request, message_of(request, entry, back=to, **facts))
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


def back_from(request: StudioRequest, entry: Entry | None, page: Any) -> HttpResponseRedirect:
    """To where the button was, else to ``page``; to a list where what was undone had its page."""
    if entry and entry.verb in LISTS:
        return redirect(LISTS[entry.verb])
    return go_back(request, page)


@require_POST
def undo(request: StudioRequest) -> HttpResponse:
    """One entry, or several that were made in one go, the latest first."""
    keys = request.POST.getlist("entry") or [""]
    for key in keys[::-1]:
        entry = take_back(request, key)
        if entry is None:
            break
    return back_from(request, entry, "own")


@require_GET
def changes(request: StudioRequest, pk: int, model: type[Thing]) -> HttpResponse:
    """All that was done with one thing, latest first. A helper does not see the money's part."""
    row = get_object_or_404(model, pk=pk)
    entries = history.of(row) if request.user.is_owner else history.of(row).filter(money=False)
    title = f"Changes: {row}"
    back = row.get_absolute_url()
    return changes_page(request, entries, title=title, back=back, undo_at="own-undo")
