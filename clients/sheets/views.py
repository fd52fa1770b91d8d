"""The pages of measurement sheets: what looks odd is asked about once, and kept all the same."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_safe

from clients.fields import unit_of
from clients.fit.changes import FINAL_FITTING, Taking, changed, is_old, newest
from clients.fit.checks import GIRTH_MM, Doubt, doubts
from clients.fit.lengths import parse_length
from clients.fit.measures import SETS, Spot
from clients.models import Client, GoneError, MeasureSet, Sheet
from clients.queries import entry_of_its_own
from clients.sheets import actions
from clients.sheets.display import (
    MeasureRow,
    SheetRows,
    as_typed,
    changed_most,
    compared,
    course_rows,
    sizes_of,
    value_rows,
)
from clients.sheets.documents import SIZES, measurement_card
from clients.sheets.figure import cloth, doll, figures, tape_on
from clients.sheets.files import facts_of, headings, match, read_file, sheet_rows
from clients.sheets.forms import (
    HEALTH,
    CompareForm,
    DayForm,
    RangesForm,
    SheetForm,
    field_name,
    starting_values,
    values_of,
)
from clients.sheets.known import pregnancy_of
from clients.sheets.queries import (
    all_measures,
    others_of,
    own_ranges,
    sheet_at,
    sheets_before,
    sheets_of,
    taking_of,
)
from studio.shop import clock
from studio.shop.doors.logins import fresh_password_for_file
from studio.shop.files import Row, csv_response
from studio.shop.http import StudioRequest, owner_only, sent, ticked
from studio.shop.imports import Import, import_page
from studio.shop.may import Tick
from studio.shop.paper import show_pdf

CHILDHOOD = 20  # years of birth of a minor that have a key each
# The keys of a tape in inches, and how each is shown.
EIGHTHS = (
    ("1/8", "⅛"), ("1/4", "¼"), ("3/8", "⅜"), ("1/2", "½"),
    ("5/8", "⅝"), ("3/4", "¾"), ("7/8", "⅞"),
)  # fmt: skip


@ticked(Tick.MEASURES)
@require_GET
def sheets(request: StudioRequest, pk: int) -> HttpResponse:
    client = entry_of_its_own(pk)
    if client.pk != pk:
        return redirect("sheets", client.pk)
    form = DayForm(request.GET if "day" in request.GET else None)
    day = form.cleaned_data["day"] if form.is_valid() else None
    taken = sheets_of(client)
    takings = [taking_of(sheet) for sheet in taken]
    child = bool(taken) and taken[-1].minor
    pregnant = request.user.may(Tick.HEALTH) and pregnancy_of(taken) is not None
    if child or pregnant:
        form.fields.pop("growing")
    growing = child or pregnant or bool(day and form.cleaned_data["growing"])
    unit, locale = unit_of(request.studio), request.studio.locale
    context = {
        "client": client,
        "sheets": taken[::-1],
        "old": bool(taken) and is_old(taken[-1].taken_on, clock.today()),
        "rows": list(course_rows(takings, unit, locale, day, growing=growing)),
        "unit": unit,
        "form": form,
        "day": day,
        "grows": "a child" if child else "a pregnancy" if pregnant else "",
        "fitting_from": day - FINAL_FITTING if day else None,
    }
    return render(request, "clients/sheets/sheets.html", context)


@ticked(Tick.MEASURES)
@require_GET
def sheet(request: StudioRequest, pk: int) -> HttpResponse:
    """One sheet beside the one before it, or beside any other: the later one is the page's."""
    sheet = sheet_at(pk)
    unit = unit_of(request.studio)
    taking = taking_of(sheet)
    earlier = sheets_before(sheet.client, sheet.taken_on, sheet)
    before = earlier[-1] if earlier else None
    form = CompareForm(
        request.GET if "other" in request.GET else None,
        sheets=others_of(sheet),
        locale=request.studio.locale,
        initial={"other": before.pk if before else None},
    )
    if form.is_valid():
        before = sheet_at(form.cleaned_data["other"])
        if before.taken_on > sheet.taken_on:
            return redirect(f"{before.get_absolute_url()}?other={sheet.pk}")
    other = taking_of(before) if before else None
    changes, same = compared(taking, other, unit) if other else ([], [])
    taken, laid = {key for key, _ in taking.lengths}, changed_most(taking, other)
    befores = [other] if other else []
    context = {
        "views": [doll(view, taken, laid) for view in ("front", "back")],
        "changes": changes,
        "same": same,
        "sheet": sheet,
        "client": sheet.client,
        "before": before,
        "apart": (sheet.taken_on - before.taken_on).days if before else 0,
        "form": form,
        "rows": value_rows(taking, other, unit),
        "doubts": doubts(
            taking,
            unit=unit,
            ranges=own_ranges(),
            before=befores,
            child=sheet.minor,
            born=sheet.born,
            pregnant=sheet.pregnant,
        ),
        "sizes": sizes_of(taking, unit),
        "unit": unit,
        "shows_note": not sheet.sensitive or request.user.may(Tick.HEALTH),
        "shows_health": request.user.may(Tick.HEALTH),
        "may_correct": actions.may_correct(sheet),
        "old": is_old(sheet.taken_on, clock.today()),
    }
    return render(request, "clients/sheets/sheet.html", context)


@ticked(Tick.MEASURES)
@require_http_methods(["GET", "HEAD", "POST"])
def sheet_new(request: StudioRequest, pk: int) -> HttpResponse:
    client = entry_of_its_own(pk)
    if client.pk != pk:
        return redirect("sheet-new", client.pk)
    earlier = sheets_before(client, clock.today())
    # Whoever measures begins at the same places of every body.
    last = earlier[-1] if earlier else Sheet.objects.order_by("-pk").first()
    start = starting_values(last, client, pregnancy_of(earlier)) | {"form_key": uuid4()}
    form = SheetForm(sent(request), studio=request.studio, initial=start, measures=all_measures())
    if not request.user.may(Tick.HEALTH):
        form.without(*HEALTH)

    def take() -> Sheet:
        key = form.cleaned_data["form_key"]
        return actions.take_sheet(
            client=client, by=request.user, facts=form.facts(), lengths=form.lengths(), form_key=key
        )

    return _write(request, client, form, take, message="The sheet is kept.", earlier=earlier)


@ticked(Tick.MEASURES)
@require_http_methods(["GET", "HEAD", "POST"])
def sheet_correct(request: StudioRequest, pk: int) -> HttpResponse:
    sheet = sheet_at(pk)
    if not actions.may_correct(sheet):
        messages.error(request, "A sheet is corrected on its own day only. Take a new one.")
        return redirect("sheet", sheet.pk)
    taking = taking_of(sheet)
    measures, start = all_measures() | {**taking.measures}, values_of(sheet, taking)
    form = SheetForm(sent(request), studio=request.studio, initial=start, measures=measures)
    if not request.user.may(Tick.HEALTH):
        form.without(*HEALTH, *(("note", "sensitive") if sheet.sensitive else ()))

    def correct() -> Sheet:
        return actions.correct_sheet(
            sheet=sheet,
            by=request.user,
            facts=form.facts(),
            lengths=form.lengths(),
            emptied=form.emptied(),
        )

    earlier = sheets_before(sheet.client, sheet.taken_on, sheet)
    message = "The sheet is corrected."
    return _write(
        request, sheet.client, form, correct, message=message, earlier=earlier, sheet=sheet
    )


def _write(
    request: StudioRequest,
    client: Client,
    form: SheetForm,
    save: Callable[[], Sheet],
    *,
    message: str,
    earlier: list[Sheet],
    **more: Any,
) -> HttpResponse:
    """Show the form; ``save`` it once everything odd about it has been asked."""
    before = [taking_of(one) for one in earlier if one.taken_on <= _day(form)]
    if "ask" in request.POST:
        return _ask(request, form, before, request.POST["ask"])
    asked: list[Doubt] = []
    if form.is_valid():
        asked = _unseen(request, form, before)
        try:
            if not asked:
                sheet = save()
                messages.success(request, message)
                return redirect("sheet", sheet.pk)
        except (GoneError, actions.SheetError) as error:
            form.add_error(None, str(error))
    rows, own_sets = SheetRows(form, before), list(MeasureSet.objects.all())
    context = {
        "client": client,
        "form": form,
        "doubts": asked,
        "before": before[-1] if before else None,
        "today": clock.today(),
        "years": [clock.today().year - years for years in range(CHILDHOOD)],
        "unit": unit_of(request.studio),
        "eighths": EIGHTHS,
        "sets": _sets(rows.all, own_sets),
        "missing": _sets([row for row in rows.all if row.missing], own_sets) if before else [],
        "rows": rows,
        "cloth": cloth(),
        **more,
    }
    return render(request, "clients/sheets/form.html", context)


def _ask(request: StudioRequest, form: SheetForm, before: list[Taking], name: str) -> HttpResponse:
    """What is odd about the value just taken, with its answers; empty where nothing is."""
    form.full_clean()
    spot = next((spot for spot in form.spots if field_name(spot) == name), None)
    if spot is None or "taken_on" not in form.cleaned_data or spot not in form.lengths():
        return HttpResponse(status=204)
    asked = [doubt for doubt in _unseen(request, form, before) if spot in doubt.spots]
    if not asked:
        return HttpResponse(status=204)
    # What is wrong with the number comes before where it was taken.
    values = [doubt for doubt in asked if doubt.kind != "level"]
    unit, typed, last = unit_of(request.studio), form.lengths()[spot], newest(before, spot)
    context = {
        "doubts": values or asked[:1],
        "fact": None if values else form[asked[0].fact],
        "typed": as_typed(typed, unit),
        "last": as_typed(last.lengths[spot], unit) if last else "",
        "instead": next((one.instead[one.spots.index(spot)] for one in values if one.instead), ""),
        "swapped": "" if not values else _swapped(form, before, spot),
        "pregnant": bool(values and last) and _may_be_pregnant(form, before, spot),
    }
    return render(request, "clients/sheets/_ask.html", context)


def _may_be_pregnant(form: SheetForm, before: list[Taking], spot: Spot) -> bool:
    """Whether that would answer why a girth has grown, for who may note it."""
    facts, taking = form.cleaned_data, form.taking()
    if "pregnant" not in form.fields or facts["pregnant"] or facts.get("minor"):
        return False
    more = changed(taking, newest(before, spot), spot)
    return taking.measures[spot[0]].kind == "girth" and more is not None and more > GIRTH_MM


def _swapped(form: SheetForm, before: list[Taking], spot: Spot) -> str:
    """The value with two of its figures the other way round, where nothing would be odd in it."""
    taking, unit = form.taking(), unit_of(form.studio)
    typed = taking.lengths[spot].typed
    for place in range(len(typed) - 1):
        pair = typed[place : place + 2]
        if not pair.isdigit() or pair[0] == pair[1]:
            continue
        other = typed[:place] + pair[::-1] + typed[place + 2 :]
        lengths = {**taking.lengths, spot: parse_length(other, unit)}
        odd = _doubts(form, replace(taking, lengths=lengths), before)
        if not any(spot in doubt.spots and doubt.kind != "level" for doubt in odd):
            return other
    return ""


def _doubts(form: SheetForm, taking: Taking, before: list[Taking]) -> list[Doubt]:
    facts, unit = form.cleaned_data, unit_of(form.studio)
    return doubts(
        taking,
        unit=unit,
        ranges=own_ranges(),
        before=before,
        child=facts.get("minor", False),
        born=facts.get("born"),
        pregnant=facts.get("pregnant", False),
    )


@dataclass(frozen=True)
class JobSet:
    """A set of measures: how many a page has of it, and their fields in order where it has one."""

    name: str
    words: str
    count: int
    order: str = ""


def _sets(rows: list[MeasureRow], own: list[MeasureSet]) -> list[JobSet]:
    """The sets that have some of ``rows``: the trade's, then the owner's own."""
    of_rows = Counter(name for row in rows for name in row.sets.split())
    named = {"usual": "Usual", **SETS, "own": "Your own"}.items()
    counted = [JobSet(name, words, of_rows[name]) for name, words in named if of_rows[name]]
    here = {row.measure.key for row in rows}
    ordered = [(chosen, [key for key in chosen.keys if key in here]) for chosen in own]
    theirs = [
        JobSet(f"set-{chosen.pk}", chosen.name, len(keys), " ".join(keys))
        for chosen, keys in ordered
        if keys
    ]
    return [*counted, *theirs, JobSet("all", "All", len(rows))]


def _unseen(request: StudioRequest, form: SheetForm, before: list[Taking]) -> list[Doubt]:
    """Every doubt, if one of them has not been shown yet."""
    questions = _doubts(form, form.taking(), before)
    seen = set(request.POST.getlist("seen"))

    def new(doubt: Doubt) -> bool:
        return doubt.says not in seen and not seen.issuperset(doubt.parts)

    if "ask" in request.POST:
        return [doubt for doubt in questions if new(doubt)]
    return questions if any(map(new, questions)) else []


def _day(form: SheetForm) -> date:
    """The day of the sheet as far as it is known."""
    facts = getattr(form, "cleaned_data", form.initial)
    day: date = facts.get("taken_on") or form.initial["taken_on"]
    return day


@owner_only
@require_http_methods(["GET", "HEAD", "POST"])
def measure_ranges(request: StudioRequest) -> HttpResponse:
    form = RangesForm(sent(request), studio=request.studio, own=own_ranges())
    if form.is_valid():
        actions.set_ranges(ranges=form.ranges(), by=request.user)
        messages.success(request, "Saved. Sheets ask by these ranges from now on.")
        return redirect("measure-ranges")
    return render(request, "clients/sheets/ranges.html", {"form": form})


@ticked(Tick.MEASURES)
@require_safe
def sheet_card(request: StudioRequest, pk: int, size: str) -> HttpResponse:
    """The card on ``size``, a name in ``SIZES`` in small letters."""
    page = next((page for page in SIZES if page.lower() == size), None)
    if page is None:
        raise Http404
    sheet = sheet_at(pk)
    pdf = measurement_card(sheet, studio=request.studio, page=page)
    return show_pdf(f"Measurement card {sheet.client.name} {sheet.taken_on}", pdf)


@require_safe
def how_to_measure(request: StudioRequest) -> HttpResponse:
    listed = all_measures().values()
    measures = [(measure, tape_on(measure.at)) for measure in listed if not measure.retired]
    context = {"measures": measures, "figures": figures(), "cloth": cloth()}
    return render(request, "clients/sheets/how_to_measure.html", context)


@ticked(Tick.MEASURES)
@ticked(Tick.FILES)
@fresh_password_for_file
@require_safe
def sheets_csv(request: StudioRequest, pk: int) -> HttpResponse:
    client = entry_of_its_own(pk)
    listed = sheets_of(client)
    name = f"measures-{client.pk}-{clock.today()}.csv"
    health = request.user.may(Tick.HEALTH)
    rows, columns = sheet_rows(listed, health=health), headings(listed, health=health)
    return csv_response(rows, columns, name)


@ticked(Tick.MEASURES)
@require_http_methods(["GET", "HEAD", "POST"])
def sheets_import(request: StudioRequest, pk: int) -> HttpResponse:
    client, studio = entry_of_its_own(pk), request.studio
    health = request.user.may(Tick.HEALTH)
    if client.pk != pk:
        return redirect("sheets-import", client.pk)

    def compare(rows: list[Row]) -> dict[str, Any]:
        matches = match(rows, client=client, studio=studio)
        return {"matches": matches, "new": sum(not row.here for row in matches)}

    def take(rows: list[Row]) -> str:
        added = actions.import_sheets(client=client, by=request.user, studio=studio, rows=rows)
        return f"{added} new, {len(rows) - added} here already."

    return import_page(
        request,
        Import(
            owner=f"sheets of {client.pk}",
            page="clients/sheets/import.html",
            preview="clients/sheets/import_preview.html",
            done=reverse("sheets", args=[client.pk]),
            read=lambda text: read_file(text, studio=studio, health=health),
            compare=compare,
            take=take,
            thing="a sheet",
            known_by=("Date", "taken_on"),
            refusals=(GoneError, actions.SheetError),
            context={"client": client, "headings": facts_of(health).values()},
        ),
    )
