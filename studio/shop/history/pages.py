"""The page of a history, and the press that takes its latest step back."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render, resolve_url

from studio.shop.history.queries import undoable
from studio.shop.history.way_back import HistoryError, undo
from studio.shop.http import StudioRequest, go_back
from studio.shop.models import Entry

PER_PAGE = 50


def changes_page(
    request: StudioRequest, entries: QuerySet[Entry], *, title: str, back: str, undo_at: str
) -> HttpResponse:
    """``back`` and ``undo_at`` are the page the history is of and that of its undo: a name of an
    address, or the address. The undo is sent this page's address as ``back``.
    """
    page = Paginator(entries, PER_PAGE).get_page(request.GET.get("page"))
    latest = undoable(page, request.user) if page.number == 1 else None
    context = {"title": title, "page": page, "latest": latest}
    context |= {"back": resolve_url(back), "undo_at": resolve_url(undo_at)}
    return render(request, "shop/changes.html", context)


def undo_step(request: StudioRequest, entries: QuerySet[Entry], *, back: str) -> HttpResponse:
    """Take back the entry that the form names, and show the page it names as ``back``, else
    ``back``. Raises Http404."""
    number = request.POST.get("entry", "")
    entry = get_object_or_404(entries, pk=int(number) if number.isdecimal() else 0)
    try:
        undo(entry=entry, by=request.user)
    except HistoryError as wrong:
        messages.error(request, str(wrong))
    else:
        messages.success(request, "Undone.")
    return go_back(request, back)
