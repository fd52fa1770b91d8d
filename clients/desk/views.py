"""The import desk: a file comes in, its columns are matched, its people ticked, taken, undone."""

from dataclasses import dataclass
from itertools import chain
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.db.models import Count, Q, QuerySet
from django.db.models.functions import Left
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from clients.desk import actions
from clients.desk.actions import WHY_NOT
from clients.files import (
    CODE_AND_TOWN,
    COMPANY,
    HEADINGS,
    HOUSE_NUMBER,
    MORE,
    MOST_BYTES,
    NUMBERED,
    OUR_HEADING,
    PARTS_OF_NAME,
    names_somebody,
    open_file,
)
from clients.models import Client, ClientFile, FileRow
from studio.shop.charsets import CHARSETS, code_of, other_readings
from studio.shop.files import NO_HEADING, UnreadableFileError, csv_response, one_file, read_letters
from studio.shop.http import StudioRequest, sent
from studio.shop.imports import MENDED
from studio.shop.tables import PER_PAGE

MOST_FILES = 20
SAMPLES = 3
MOST_NUMBERED = 3
MOST_LETTERS = 60
# What a column can be, in the order of a card, each half of a fact behind its other half.
BEHIND = {"name": COMPANY, "street": HOUSE_NUMBER, "town": CODE_AND_TOWN}
FACTS = {
    name: "VAT number" if name == "vat number" else name[:1].upper() + name[1:]
    for whole in (*PARTS_OF_NAME, *HEADINGS)
    for name in (whole, BEHIND.get(whole, ""))
    if name
}
State, Kind = ClientFile.State, FileRow.Kind
UNDER_WAY = {
    State.READING: "Reading the rows",
    State.TAKING: "Taking them in",
    State.UNDOING: "Giving back",
}


class ClientFileForm(forms.Form):
    file = forms.FileField(
        label="A file of vCards (.vcf) or a table (.csv)",
        error_messages={"required": "Choose a file.", "empty": "The file is empty."},
        widget=forms.FileInput(attrs={"accept": ".vcf,.csv,.txt,text/vcard,text/csv"}),
    )
    letters = forms.ChoiceField(
        choices=[("", "As is most likely"), *CHARSETS.items()], required=False
    )


@require_http_methods(["GET", "HEAD", "POST"])
def clients_import(request: StudioRequest) -> HttpResponse:
    """Choose a file; below it those that came in lately."""
    form = ClientFileForm(sent(request), request.FILES or None)
    if form.is_valid():
        uploaded = form.cleaned_data["file"]
        try:
            with one_file():
                letters = read_letters(
                    uploaded, form.cleaned_data["letters"], most_bytes=MOST_BYTES
                )
                opened = open_file(letters.text)
        except UnreadableFileError as error:
            form.add_error("file", str(error))
        else:
            actions.sweep_files()
            mended = letters.mended_of([row.line for row in opened.rows])
            for row in opened.rows:
                row.remarks += [MENDED] if row.line in mended else []
            file = actions.keep_file(
                name=uploaded.name or "File",
                opened=opened,
                by=request.user,
                letters=letters.name if letters.is_guess or code_of(letters.name) else "",
            )
            return _go_to(request, file)
    files = ClientFile.objects.select_related("by").annotate(
        people=Count("rows"), added=Count("rows", filter=Q(rows__outcome="added"))
    )[:MOST_FILES]
    context = {"form": form, "files": files, "days": actions.KEPT_DAYS, "most": MOST_BYTES}
    return render(request, "clients/desk/files.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def clients_file(request: StudioRequest, pk: int) -> HttpResponse:
    """One file, at the step where it is."""
    file = get_object_or_404(ClientFile.objects.select_related("by"), pk=pk)
    if request.method == "POST":
        return _post(request, file)
    if file.state in UNDER_WAY:
        return _progress(request, file)
    if file.state == State.COLUMNS:
        return _columns(request, file)
    if file.state == State.PEOPLE:
        return _people(request, file)
    return _done(request, file)


def _post(request: StudioRequest, file: ClientFile) -> HttpResponse:
    intent, _, told = request.POST.get("intent", "").partition(":")
    try:
        if answer := ANSWERS.get(intent):
            return answer(request, file, intent, told)
        if intent == "undo":
            actions.start_undo(file=file)
        elif intent == "again":
            actions.match_again(file=file)
    except actions.DeskError as error:
        messages.error(request, str(error))
        return redirect(file)
    file = actions.go_on(file=file, by=request.user)
    if file.state in UNDER_WAY and request.htmx:
        return _progress(request, file)
    return _go_to(request, file)


def _go_to(request: StudioRequest, file: ClientFile) -> HttpResponse:
    """The page of the file, also for what asked for a part of a page."""
    if request.htmx:
        return HttpResponse(headers={"HX-Redirect": file.get_absolute_url()})
    return redirect(file)


def _progress(request: StudioRequest, file: ClientFile) -> HttpResponse:
    rows = file.rows.aggregate(
        people=Count("pk"),
        read=Count("pk", filter=~Q(kind="")),
        taken=Count("pk", filter=~Q(outcome="")),
        to_take=Count("pk", filter=actions.TO_TAKE),
        to_undo=Count("pk", filter=actions.DONE & Q(why="")),
    )
    most = {
        State.READING: rows["people"],
        State.TAKING: rows["taken"] + rows["to_take"],
        State.UNDOING: rows["people"],
    }[State(file.state)]
    done = {
        State.READING: rows["read"],
        State.TAKING: rows["taken"],
        State.UNDOING: rows["people"] - rows["to_undo"],
    }[State(file.state)]
    context = {"file": file, "words": UNDER_WAY[State(file.state)], "done": done, "most": most}
    return render(request, "clients/desk/progress.html", context)


@dataclass(frozen=True)
class FileColumn:
    """A column of the file as the page shows it: its heading, first values, what it may be."""

    name: str
    heading: str
    values: list[str]
    chosen: str


def _columns(
    request: StudioRequest, file: ClientFile, chosen: dict[str, str] | None = None
) -> HttpResponse:
    columns = file.columns if chosen is None else chosen
    rows = [row.cells for row in file.rows.order_by("line")[:200]]
    shown = []
    for name, heading in file.headings:
        values = [cells[name].strip() for cells in rows if cells.get(name, "").strip()]
        values = list(dict.fromkeys(values))[:SAMPLES]
        shown.append(FileColumn(name, heading, values, columns.get(name, "")))
    context = {
        "file": file,
        "columns": shown,
        "choices": _choices(columns),
    }
    return render(request, "clients/desk/columns.html", context | _letters_of(file))


def _letters_of(file: ClientFile) -> dict[str, Any]:
    """Where the file's letters are a guess, some names as they were read and as they could be."""
    sample, was = _sample(file), code_of(file.letters)
    return {"sample": sample, "others": other_readings(sample, was) if was else []}


def _sample(file: ClientFile) -> list[str]:
    """Cells with as many letters beyond ASCII as three can show, names before all others."""
    if not file.letters:
        return []
    rows = list(file.rows.order_by("line").values_list("cells", flat=True)[:2000])
    named = [name for name, fact in file.columns.items() if names_somebody([fact])] or ["name"]
    names = (cells.get(name, "") for cells in rows for name in named)
    found = dict.fromkeys(chain(names, (cell for cells in rows for cell in cells.values())))
    sample: list[str] = []
    for cell in found:
        if any(letter >= "\x80" and letter not in "".join(sample) for letter in cell):
            sample.append(cell)
        if len(sample) == SAMPLES:
            break
    return sample


def _choices(columns: dict[str, str]) -> list[tuple[str, str]]:
    """Every fact a column can be, those with numbers as far as the file has them and one more."""
    used = [int(name.split()[1]) for name in columns.values() if NUMBERED.fullmatch(name)]
    numbered = [
        heading.format(number)
        for number in range(2, max([MOST_NUMBERED, *used]) + 1)
        for headings in MORE.values()
        for heading in headings
    ]
    return [
        ("", "Leave out"),
        *FACTS.items(),
        *((name, name[:1].upper() + name[1:]) for name in numbered),
    ]


def _chosen(request: StudioRequest, file: ClientFile) -> dict[str, str]:
    chosen = {
        name: request.POST.get(f"column-{place}", "")
        for place, (name, _) in enumerate(file.headings)
    }
    known = dict(_choices(chosen | file.columns))
    return {name: fact if fact in known else "" for name, fact in chosen.items()}


def _forget(request: StudioRequest, file: ClientFile, _intent: str, _told: str) -> HttpResponse:
    actions.forget_file(file=file)
    messages.success(request, "The file is erased.")
    return redirect("clients-import")


def _choose(request: StudioRequest, file: ClientFile, intent: str, told: str) -> HttpResponse:
    """What the columns are, or in which letters they are read."""
    is_open = intent == "columns" or file.state == State.COLUMNS
    chosen = _chosen(request, file) if is_open else file.columns
    try:
        if intent == "letters":
            actions.choose_letters(file=file, letters=told, columns=chosen)
        else:
            actions.choose_columns(file=file, columns=chosen)
    except actions.DeskError as error:
        messages.error(request, str(error))
        return _columns(request, file, chosen) if is_open else redirect(file)
    actions.go_on(file=file, by=request.user)
    return redirect(file)


def _counts(file: ClientFile) -> dict[str, int]:
    counted = file.rows.order_by().values_list("kind").annotate(rows=Count("pk"))
    return dict(counted)


def _people(request: StudioRequest, file: ClientFile) -> HttpResponse:
    counts = _counts(file)
    kinds = [(kind, kind.label, counts[kind]) for kind in Kind if kind in counts]
    kind = request.GET.get("kind", "")
    if kind not in counts:
        kind = kinds[0][0] if kinds else Kind.NEW
    rows = file.rows.filter(kind=kind).order_by("name_key", "line")
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    clients = Client.objects.in_bulk([row.client_id for row in page if row.client_id])
    context = {
        "file": file,
        "kinds": kinds,
        "kind": kind,
        "page": page,
        "people": [(row, clients.get(row.client_id)) for row in page],
        "letters": _letters(rows, page),
        **_letters_of(file),
        "ticked": file.rows.filter(actions.TO_TAKE).count(),
        "refused": counts.get(Kind.WRONG, 0),
    }
    return render(request, "clients/desk/people.html", context)


def _letters(rows: QuerySet[FileRow], page: "Page[FileRow]") -> list[tuple[str, int]]:
    """The first letters of a long list, each with the page on which it begins."""
    if not page.has_other_pages():
        return []
    counted = (
        rows.order_by().values(letter=Left("name_key", 1)).annotate(rows=Count("pk"))
        .order_by("letter").values_list("letter", "rows")
    )  # fmt: skip
    letters, before = [], 0
    for letter, several in counted:
        letters.append((letter.upper() or "?", before // PER_PAGE + 1))
        before += several
    return letters if len(letters) <= MOST_LETTERS else []


def _tick(request: StudioRequest, file: ClientFile, intent: str, told: str) -> HttpResponse:
    """The ticks of the page are kept, whatever button was pressed; then it is turned or taken."""
    shown, ticked = _numbers(request, "shown"), _numbers(request, "row")
    fields: dict[int, list[str]] = {row: [] for row in shown}
    for row, _, key in (offer.partition(":") for offer in request.POST.getlist("offer")):
        if row.isdecimal() and int(row[:18]) in fields:
            fields[int(row[:18])].append(key)
    actions.tick(file=file, shown=shown, ticked=ticked, fields=fields)
    kind, _, page = told.partition(":")
    if intent == "take":
        actions.start_taking(file=file)
        actions.go_on(file=file, by=request.user)
        return redirect(file)
    if intent in {"all", "none"}:
        actions.tick_all(file=file, kind=kind, ticked=intent == "all")
    page = page or request.POST.get("jump", "")
    return redirect(reverse("clients-file", args=[file.pk], query={"kind": kind, "page": page}))


def _numbers(request: StudioRequest, name: str) -> list[int]:
    numbers = request.POST.getlist(name)[: PER_PAGE + 1]
    return [int(number) for number in numbers if number.isdecimal() and len(number) < 19]


def _done(request: StudioRequest, file: ClientFile) -> HttpResponse:
    stays = file.rows.exclude(why="").filter(actions.DONE | Q(outcome=FileRow.Ending.LEFT))
    context = {
        "file": file,
        "counts": actions.counts(file),
        "days": actions.KEPT_DAYS,
        "page": Paginator(stays.order_by("line"), PER_PAGE).get_page(request.GET.get("page")),
        "left": file.rows.filter(outcome=FileRow.Ending.LEFT).count(),
    }
    return render(request, "clients/desk/done.html", context)


ANSWERS = {
    "remove": _forget,
    "columns": _choose,
    "letters": _choose,
    **dict.fromkeys(("turn", "all", "none", "take"), _tick),
}


@require_safe
def clients_file_refused(request: StudioRequest, pk: int) -> HttpResponse:
    """The rows that were not taken, as they stood in the file, with the reason behind them."""
    file = get_object_or_404(ClientFile, pk=pk)
    refused = Q(kind=Kind.WRONG) | Q(outcome=FileRow.Ending.LEFT)
    rows = list(file.rows.filter(refused).order_by("line"))
    names = sorted({name for row in rows for name in row.cells})
    headings = dict(file.headings) | {name: name for name in names if NO_HEADING.fullmatch(name)}
    if not file.headings:  # Cards: as our own tables are, which a database need not remember.
        ours = {name: heading for name, heading in OUR_HEADING.items() if name in names}
        headings = ours | {name: ours.get(name, name) for name in names}
    table = [[*(row.cells.get(name, "") for name in headings), row.why] for row in rows]
    return csv_response(table, [*headings.values(), WHY_NOT], "not-taken.csv")
