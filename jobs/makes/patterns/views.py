"""The drawer of patterns: found in two keystrokes, and what each asks for."""

from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.makes.matching import ShelfLength
from jobs.makes.models import Make, MakeState, Pattern, PatternVersion
from jobs.makes.patterns import actions
from jobs.makes.patterns.forms import NeedRows, OtherWidthForm, PatternForm, need_rows
from jobs.makes.patterns.queries import (
    at_width,
    drawer,
    drawer_page,
    kind_names,
    makes_of,
    pattern_or_404,
    uses_of,
)
from jobs.makes.undo import done
from jobs.makes.wall.queries import tiles_of
from studio.shop.http import StudioRequest, go_back, sent
from studio.shop.models import Entry
from studio.shop.tables import initials
from studio.shop.together import OpenCard, edit_card


@require_GET
def pattern_list(request: StudioRequest) -> HttpResponse:
    """All of the drawer, or what fits the words; while typing, only the list."""
    text, gone = request.GET.get("q", "")[:200], request.GET.get("gone") == "yes"
    page = drawer_page(drawer(text, gone=gone), request.GET.get("page"))
    long = page.paginator.num_pages > 1 and not text
    letters = initials(Pattern.objects.filter(gone_at__isnull=not gone), "key") if long else []
    shown = {"page": page, "text": text, "gone": gone, "letters": letters}
    template = "_found.html" if request.htmx else "list.html"
    return render(request, f"makes/patterns/{template}", shown)


@require_GET
def pattern(request: StudioRequest, pk: int) -> HttpResponse:
    card = pattern_or_404(pk)
    form = OtherWidthForm(request.GET or None, studio=request.studio)
    asked = form.cleaned_data if form.is_valid() else {}
    cloth, width = asked.get("cloth"), asked.get("width")
    other = cloth.as_length() if cloth else width and ShelfLength.of_width(width.mm)
    rows = at_width(card, other)
    tiles = tiles_of(makes_of(card))
    shown = {"pattern": card, "form": form, "rows": rows, "cloth": cloth, "width": width}
    shown["tiles"] = tiles
    shown["made"] = any(tile.make.state == MakeState.FINISHED for tile in tiles)
    uses = [(tile, use) for tile in tiles for use in uses_of(tile.make) if use.pattern == card]
    shown["to_carry"] = [(tile, use.changes) for tile, use in uses if use.to_carry]
    shown["form_key"] = uuid4()
    shown["kinds"] = ", ".join(kind_names(card)).lower()
    return render(request, "makes/patterns/pattern.html", shown)


@require_http_methods(["GET", "POST"])
def pattern_new(request: StudioRequest) -> HttpResponse:
    asked = {"name": request.GET.get("name", "")[:120]}
    form = PatternForm(sent(request), request.FILES or None, studio=request.studio, initial=asked)
    needs = need_rows(sent(request), request.studio)
    owned: list[Pattern] = []
    if form.is_valid() and needs.is_valid():
        seen = [int(pk) for pk in request.POST.getlist("seen") if pk.isdecimal() and len(pk) < 19]
        try:
            made, entry = actions.add_pattern(**_facts(request, form, needs), seen=seen)
        except actions.OwnedError as refusal:
            owned = refusal.patterns
        else:
            return done(request, entry, made.get_absolute_url())
    shown = {"form": form, "needs": needs, "owned": owned}
    return render(request, "makes/patterns/new.html", shown)


@require_http_methods(["GET", "POST"])
def pattern_edit(request: StudioRequest, pk: int) -> HttpResponse:
    pattern = pattern_or_404(pk)

    def form_of(data: QueryDict | None, row: Pattern) -> PatternForm:
        files = request.FILES if data else None
        return PatternForm(data, files, instance=row, studio=request.studio)

    def save(edited: OpenCard) -> Entry | None:
        facts = _facts(request, edited.form, edited.table)
        return actions.change_pattern(pattern=pattern, **facts)

    def table_of(data: QueryDict | None, row: Pattern) -> NeedRows:
        needs: NeedRows = need_rows(data, request.studio, row)
        return needs

    edited = edit_card(
        request, pattern, form_of, save, table_of=table_of, table_name="Cloth it asks for"
    )
    if edited.saved:
        return done(request, edited.entry, pattern.get_absolute_url())
    shown = {"pattern": pattern, "form": edited.form, "needs": edited.table}
    return render(request, "makes/patterns/edit.html", shown)


def _facts(request: StudioRequest, form: Any, needs: Any) -> dict[str, Any]:
    photo = form.cleaned_data["photo"]
    return {"facts": form.facts(), "needs": needs.rows(), "photo": photo, "by": request.user}


@require_POST
def pattern_away(request: StudioRequest, pk: int) -> HttpResponse:
    card = get_object_or_404(Pattern, pk=pk)
    return done(request, actions.put_away(pattern=card, by=request.user), card.get_absolute_url())


@require_POST
def pattern_back(request: StudioRequest, pk: int) -> HttpResponse:
    card = get_object_or_404(Pattern, pk=pk)
    return done(request, actions.take_back(pattern=card, by=request.user), card.get_absolute_url())


@require_POST
def pattern_carry(request: StudioRequest, pk: int, make: int) -> HttpResponse:
    """What was changed on a make stands in the pattern from now on."""
    card, sewn = get_object_or_404(Pattern, pk=pk), get_object_or_404(Make, pk=make)
    back = go_back(request, card).url
    try:
        entry = actions.carry_in(pattern=card, make=sewn, by=request.user)
    except actions.NothingToCarryError as wrong:
        messages.error(request, str(wrong))
        return redirect(back)
    return done(request, entry, back)


@require_POST
def pattern_take_out(request: StudioRequest, pk: int) -> HttpResponse:
    version = get_object_or_404(PatternVersion.objects.select_related("pattern"), pk=pk)
    entry = actions.take_change_out(version=version, by=request.user)
    return done(request, entry, go_back(request, version.pattern).url)
