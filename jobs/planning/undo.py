"""The button that takes back the last step of something."""

from django.contrib import messages
from django.db.models import Model
from django.shortcuts import get_object_or_404

from studio.shop.history import HistoryError, of, undo, undoable
from studio.shop.http import StudioRequest
from studio.shop.models import Entry

RECENT = 20
"""Entries among which the last step is looked for."""


def last_step(about: Model, request: StudioRequest) -> Entry | None:
    """The step that the page of ``about`` offers to take back. One query."""
    return undoable(of(about)[:RECENT], request.user)


def take_back(about: Model, request: StudioRequest) -> None:
    """Undo the entry of ``about`` that the button named, or say why not. Raises Http404."""
    key = request.POST.get("entry", "")
    entry = get_object_or_404(of(about), pk=key if key.isdecimal() else 0)
    try:
        undo(entry=entry, by=request.user)
    except HistoryError as wrong:
        messages.error(request, str(wrong))
    else:
        messages.success(request, "Undone.")
