"""The drawer of patterns: found in two keystrokes, and what each asks for."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.matching import Length
from jobs.makes.models import Pattern, Picture
from jobs.makes.patterns import actions
from jobs.makes.patterns.forms import OtherWidthForm, PatternForm, need_rows
from jobs.makes.patterns.queries import at_width, drawer, kind_names, pattern_or_404
from jobs.makes.pictures import keep
from jobs.makes.tables import PatternTable
from studio.shop.http import StudioRequest, sent
from studio.shop.paging import show_page


@require_GET
def pattern_list(request: StudioRequest) -> HttpResponse:
    """All of the drawer, or what fits the words; while typing, only the list."""
    text, gone = request.GET.get("q", "")[:200], request.GET.get("gone") == "yes"
    table = PatternTable(drawer(text, gone=gone))
    show_page(table, request)
    shown = {"table": table, "text": text, "gone": gone}
    template = "_found.html" if request.htmx else "list.html"
    return render(request, f"makes/patterns/{template}", shown)


@require_GET
def pattern(request: StudioRequest, pk: int) -> HttpResponse:
    found = pattern_or_404(pk)
    form = OtherWidthForm(request.GET or None, studio=request.studio)
    told = form.cleaned_data if form.is_valid() else {}
    cloth, width = told.get("cloth"), told.get("width")
    other = cloth.as_length() if cloth else width and Length.of_width(width.mm)
    rows = at_width(found, other)
    shown = {"pattern": found, "form": form, "rows": rows, "cloth": cloth, "width": width}
    shown["kinds"] = ", ".join(kind_names(found)).lower()
    return render(request, "makes/patterns/pattern.html", shown)


@require_http_methods(["GET", "POST"])
def pattern_new(request: StudioRequest) -> HttpResponse:
    asked = {"name": request.GET.get("name", "")[:120]}
    form = PatternForm(sent(request), request.FILES or None, studio=request.studio, initial=asked)
    needs = need_rows(sent(request), request.studio)
    found: list[Pattern] = []
    if form.is_valid() and needs.is_valid():
        seen = [int(pk) for pk in request.POST.getlist("seen") if pk.isdecimal() and len(pk) < 19]
        try:
            made = actions.add_pattern(**_told(form, needs), seen=seen)
        except actions.OwnedError as owned:
            found = owned.found
        else:
            messages.success(request, f"{made} is in the drawer.")
            return redirect(made)
    shown = {"form": form, "needs": needs, "found": found}
    return render(request, "makes/patterns/new.html", shown)


@require_http_methods(["GET", "POST"])
def pattern_edit(request: StudioRequest, pk: int) -> HttpResponse:
    found = pattern_or_404(pk)
    form = PatternForm(sent(request), request.FILES or None, instance=found, studio=request.studio)
    needs = need_rows(sent(request), request.studio, found)
    if form.is_valid() and needs.is_valid():
        actions.change_pattern(pattern=found, **_told(form, needs))
        return redirect(found)
    return render(
        request, "makes/patterns/edit.html", {"pattern": found, "form": form, "needs": needs}
    )


@require_POST
def pattern_away(request: StudioRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Pattern, pk=pk)
    actions.put_away(pattern=found)
    return redirect(found)


@require_POST
def pattern_back(request: StudioRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Pattern, pk=pk)
    actions.take_back(pattern=found)
    return redirect(found)


def _told(form: PatternForm, needs: Any) -> dict[str, Any]:
    photo = form.cleaned_data["photo"]
    picture: Picture | None = keep(photo) if photo else None
    return {"facts": form.facts(), "needs": needs.rows(), "picture": picture}
