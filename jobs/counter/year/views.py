"""The year's page, the rows behind its figures, and its journal on paper."""

import re
from dataclasses import asdict
from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Q
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from jobs.billing.books import income_rows
from jobs.billing.charts import year_chart
from jobs.billing.queries import taken_by_month
from jobs.billing.sealed_book import last_seal_of
from jobs.counter.year import bookbinder, queries
from jobs.counter.year.board import LaneShown, YearBoard, year_board
from jobs.counter.year.journal import SIDES, read_journal, title
from jobs.makes.ideas.actions import MakeError
from jobs.makes.lengths import ClothLengthField, length_unit
from jobs.makes.models import Gap, Hope, JournalBook, Make
from jobs.makes.undo import done
from jobs.makes.year.actions import SetAside, begin_winter_in, hope_for_all, set_budgets
from jobs.makes.year.seasons import Name, Season, season, season_of
from jobs.planning.bench_time import spent_by_week
from jobs.tickets.queries import numbers_of_year
from studio.shop import clock, tables
from studio.shop.forms import HoursField, StudioFormMixin
from studio.shop.history import sentence
from studio.shop.http import StudioRequest, owner_only, say
from studio.shop.models import Entry
from studio.shop.paper import show_pdf

FIRST = 2000
KEY = re.compile(r"(make|gap)-([0-9]{1,9})")


class WeeksTable(tables.StudioTable):
    """Bench time week by week; each leads to the week's own page."""

    monday = tables.DayColumn("Week of", linkify=("week-of", {"monday": tables.A("monday")}))
    own = tables.MinutesColumn("Own sewing")
    release = tables.MinutesColumn("Releases")
    client = tables.MinutesColumn("Client work")

    class Meta:
        orderable = False
        empty_text = "Nothing was written down in this year."


class IncomeTable(tables.StudioTable):
    """Lines of tickets that were handed over."""

    day = tables.DayColumn("Handed over")
    number = tables.LinkColumn("Ticket", to="ticket", by="number")
    name = tables.Column("Operation")
    garment = tables.Column()
    quantity = tables.NumberColumn("Quantity")
    net = tables.MoneyColumn("Without tax")

    class Meta:
        orderable = False
        empty_text = "Nothing was handed over."


@require_GET
def year(request: StudioRequest, year: int | None = None) -> HttpResponse:
    """This year or an earlier one; ``kind``, ``whom`` and ``fate`` narrow what is pictured."""
    year = known_year(year or clock.today().year)
    narrowed = queries.Narrowed(*(request.GET.get(name) for name in ("kind", "whom", "fate")))
    sheet = queries.year_sheet(year, narrowed=narrowed, money=request.user.is_owner)
    facts = {
        "sheet": sheet,
        "taken": year_chart(taken_by_month(year), year, request.studio) if sheet.income else None,
        "narrowed": narrowed,
        "numbers": numbers_of_year(year) if request.user.is_owner else None,
        "seal": last_seal_of(year) if request.user.is_owner else None,
        "length_unit": length_unit(request.studio),
        **_neighbours(year),
    }
    return render(request, "counter/year/year.html", facts)


class WinterForm(forms.Form):
    """The month in which winter begins tells all four seasons."""

    month = forms.TypedChoiceField(
        label="Winter begins in", coerce=int,
        choices=[(month, f"{date(2000, month, 1):%B}") for month in range(1, 13)],
    )  # fmt: skip


class SeasonHoursField(HoursField):
    """Hours of a season; empty says nothing of them."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(week=True, **kwargs)

    def clean(self, value: Any) -> int | None:
        try:
            return super().clean(value)
        except forms.ValidationError:
            raise forms.ValidationError("Write hours such as 12 or 7:30, at most 168.") from None


class SetAsideForm(StudioFormMixin, forms.Form):
    """About how many hours and how much cloth a season shall take."""

    hours = SeasonHoursField(label="Hours")
    cloth = ClothLengthField(label="Cloth", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.widget.attrs["form"] = f"aside-{self.prefix}"

    def set_aside(self) -> SetAside:
        return SetAside(self.cleaned_data["hours"], self.cleaned_data["cloth"])


class Keys(forms.MultipleChoiceField):
    """The keys of tiles; what they name is looked for when it is moved."""

    def valid_value(self, value: object) -> bool:
        return bool(KEY.fullmatch(str(value)))


class MoveForm(forms.Form):
    """``things`` are tiles, such as ``make-3`` or ``gap-2``; ``to`` is a season, empty *some time*;
    ``before`` the tile they are put ahead of.
    """

    things = Keys()
    to = forms.TypedChoiceField(
        choices=[("", "Some time"), *((name.value, name.value) for name in Name)],
        coerce=Name, empty_value=None, required=False,
    )  # fmt: skip
    before = forms.CharField(required=False, max_length=40)


def _planned(request: StudioRequest, year: int) -> int:
    """The year itself. Raises Http404 for one that has no board."""
    if not FIRST <= year <= season_of(clock.today(), request.studio.winter_begins).year + 1:
        raise Http404("This year cannot be planned yet.")
    return year


@require_GET
def board(request: StudioRequest, year: int | None = None) -> HttpResponse:
    """A year's seasons, this one unless it is said; the next can be planned.

    Of what is for some time ``worn`` names a kind of season.
    """
    winter = request.studio.winter_begins
    year = _planned(request, year or season_of(clock.today(), winter).year)
    return _board_page(request, year_board(year, winter), {})


def _board_page(
    request: StudioRequest, board: YearBoard, refused: dict[Name, SetAsideForm]
) -> HttpResponse:
    """``refused`` are forms of what is set aside, by their season, with what is wrong in them."""
    winter, year = request.studio.winter_begins, board.year
    current, asked = season_of(clock.today(), winter).year, request.GET
    forms_by = {
        lane.season.name: refused.get(lane.season.name) or _aside(request, lane)
        for lane in board.lanes
        if lane.movable
    }
    tidy, worn_in = bool(asked.get("tidy")), asked.get("worn", "")
    every = tidy or bool(asked.get("all"))
    facts = {
        "board": board,
        "lanes": [(lane, forms_by.get(lane.season.name)) for lane in board.lanes],
        "refused": list(refused.values()),
        "years": [current - 1, current, current + 1]
        if year >= current
        else [year - 1, year, year + 1],
        "shown_year": min(year, clock.today().year),
        "this_year": clock.today().year,
        "tidy": tidy,
        "all": every,
        "worn": board.worn,
        "worn_in": worn_in,
        "some_time": board.for_some_time(worn=worn_in, every=every),
        "winter": WinterForm(initial={"month": winter}),
        "length_unit": length_unit(request.studio),
    }
    return render(request, "counter/year/board.html", facts)


def _aside(request: StudioRequest, lane: LaneShown) -> SetAsideForm:
    """Its fields as they stand, or as they were sent."""
    name, row = lane.season.name, lane.budget
    initial = {"hours": row.minutes, "cloth": row.typed} if row else {}
    data = request.POST if f"{name.value}-hours" in request.POST else None
    return SetAsideForm(data, prefix=name.value, initial=initial, studio=request.studio)


@require_POST
def board_move(request: StudioRequest, year: int) -> HttpResponse:
    """Put tiles into a season of the year, or among those for some time.

    A script that asks for JSON is told what was done and the entry, or what was wrong (409).
    """
    form = MoveForm(request.POST)
    scripted = request.headers.get("Accept") == "application/json"
    try:
        entries = _moved(form, year, request)
    except MakeError as wrong:
        if scripted:
            return JsonResponse({"said": str(wrong)}, status=409)
        messages.error(request, str(wrong))
        entries = []
    if scripted:
        return JsonResponse(
            {
                "said": sentence(entries[0], request.studio.locale) if entries else "",
                "entry": entries[0].pk if entries else None,
                "parts": _parts(request, year),
            }
        )
    back = f"{reverse('board-of', args=[year])}?tidy=yes#some-time"
    if len(entries) > 1:
        place = _season_of(form, year, request) or "“Some time”"
        fields = urlencode([*(("entry", entry.pk) for entry in entries), ("back", back)])
        say(request, f"{len(entries)} moved to {place}.", undo=f"{reverse('own-undo')}?{fields}")
    return done(request, entries[0] if len(entries) == 1 else None, back)


def _parts(request: StudioRequest, year: int) -> dict[str, str]:
    """What of the board follows from where its tiles lie, by its name on the page."""
    board = year_board(year, request.studio.winter_begins)
    facts = {"board": board, "length_unit": length_unit(request.studio)}

    def part(name: str, **more: object) -> str:
        return render_to_string(f"counter/year/_{name}.html", facts | more, request)

    sums = {lane.season.name.value: part("season_sums", lane=lane) for lane in board.lanes}
    return {"head": part("board_head"), "sums": part("board_sums"), **sums}


def _season_of(form: MoveForm, year: int, request: StudioRequest) -> Season | None:
    """Where the tiles go; None for some time."""
    to = form.cleaned_data["to"]
    return season(year, to, request.studio.winter_begins) if to else None


def _moved(form: MoveForm, year: int, request: StudioRequest) -> list[Entry]:
    """All of what the form names, or nothing: MakeError."""
    if not form.is_valid():
        raise MakeError("Tick something, then choose where it goes.")
    return hope_for_all(
        things=[_thing(key) for key in form.cleaned_data["things"]],
        to=_season_of(form, year, request),
        before=_hope_of(form.cleaned_data["before"]),
        by=request.user,
    )


@require_http_methods(["GET", "POST"])
def board_budgets(request: StudioRequest, year: int) -> HttpResponse:
    """What the seasons that were sent shall take. It is said on the board itself."""
    year = _planned(request, year)
    if request.method != "POST":
        return redirect("board-of", year)
    board = year_board(year, request.studio.winter_begins)
    rows = ((lane.season.name, _aside(request, lane)) for lane in board.lanes)
    forms_by = {name: form for name, form in rows if form.is_bound}
    wrong = {name: form for name, form in forms_by.items() if not form.is_valid()}
    if wrong:
        return _board_page(request, board, wrong)
    seasons = {name: form.set_aside() for name, form in forms_by.items()}
    entry = set_budgets(year=year, seasons=seasons, by=request.user) if seasons else None
    return done(request, entry, f"{reverse('board-of', args=[year])}#{next(iter(seasons), '')}")


@owner_only
@require_POST
def board_seasons(request: StudioRequest) -> HttpResponse:
    """Which months the seasons are: quarters of the calendar, or as the weather has them."""
    form = WinterForm(request.POST)
    if form.is_valid():
        begin_winter_in(month=form.cleaned_data["month"], by=request.user)
        messages.success(request, "The seasons are changed. What was planned for past ones stays.")
    else:
        messages.error(request, "Choose a month.")
    return redirect("board")


def _thing(key: str) -> Make | Gap:
    kind, pk = key.split("-")
    return get_object_or_404(Make, pk=pk) if kind == "make" else get_object_or_404(Gap, pk=pk)


def _hope_of(key: str) -> Hope | None:
    return _thing(key).hopes.filter(until=None).first() if KEY.fullmatch(key) else None


@require_GET
def hours(request: StudioRequest, year: int) -> HttpResponse:
    """The year's bench time week by week."""
    weeks = [
        {"monday": monday, **asdict(spent)}
        for monday, spent in spent_by_week(known_year(year)).items()
    ]
    table = WeeksTable(weeks, studio=request.studio)
    tables.show_page(table, request)
    return render(request, "counter/year/hours.html", {"table": table, "year": year})


@owner_only
@require_GET
def income(request: StudioRequest, year: int) -> HttpResponse:
    """The lines handed over in the year; ``what`` names one operation."""
    what = request.GET.get("what")
    rows = income_rows(*queries.days_of(known_year(year)), what)
    table = IncomeTable(rows, studio=request.studio)
    tables.show_page(table, request)
    facts = {"table": table, "year": year, "what": what, "net": sum(row.net for row in rows)}
    return render(request, "counter/year/income.html", facts)


@require_GET
def journal(request: StudioRequest, year: int) -> HttpResponse:
    """Which sizes of the book are there, how far that is which is being built, and some spreads.

    What another process began and left is begun again.
    """
    books = {
        book.page: book for book in JournalBook.objects.filter(year=journal_year(request, year))
    }
    if any(book.underway for book in books.values()) and not bookbinder.at_work():
        bookbinder.start()
    facts = {
        "year": year,
        "sizes": [(page, books.get(page)) for page in SIDES],
        "underway": any(book.underway for book in books.values()),
    }
    if request.htmx:
        return render(request, "counter/year/_journal.html", facts)
    facts |= {
        "journal": read_journal(year, request.studio.winter_begins),
        "length_unit": length_unit(request.studio),
    }
    return render(request, "counter/year/journal.html", facts)


@require_POST
def journal_build(request: StudioRequest, year: int) -> HttpResponse:
    """``paper`` is A5, A4 or Letter; anything else is the A5 of a booklet."""
    page = request.POST.get("paper", "")
    bookbinder.ask_for(year=journal_year(request, year), page=page if page in SIDES else "A5")
    bookbinder.start()
    return redirect("journal", year)


@require_GET
def journal_file(request: StudioRequest, year: int, page: str) -> HttpResponse:
    """The book as it was built. Raises Http404 where there is none."""
    book = get_object_or_404(JournalBook, ~Q(file=""), year=year, page=page)
    try:
        with book.file.open("rb") as file:
            return show_pdf(title(request.studio, year), file.read())
    except FileNotFoundError:
        raise Http404("The file of this journal is gone. Build it again.") from None


def journal_year(request: StudioRequest, year: int) -> int:
    """The year itself. Raises Http404 for one that no season of has begun."""
    if not FIRST <= year <= season_of(clock.today(), request.studio.winter_begins).year:
        raise Http404("There is nothing to look back on in this year.")
    return year


def known_year(year: int) -> int:
    """The year itself. Raises Http404 for one in which nothing can have been written down."""
    if not FIRST <= year <= clock.today().year:
        raise Http404("There is nothing to look back on in this year.")
    return year


def _neighbours(year: int) -> dict[str, int | None]:
    return {
        "earlier": year - 1 if year > FIRST else None,
        "later": year + 1 if year < clock.today().year else None,
    }
