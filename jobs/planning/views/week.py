"""The week: this one, earlier and later ones."""

from datetime import date, timedelta

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from jobs.planning.past import past_week
from jobs.planning.plan.book import monday_of
from jobs.planning.reading import read_book
from jobs.planning.week_sheet import WeekSheet, week_sheet
from studio.shop import clock
from studio.shop.http import StudioRequest

FIRST = date(2000, 1, 3)
"""The Monday before which nothing can have been written down."""


@require_GET
def week(request: StudioRequest, monday: date | None = None) -> HttpResponse:
    """The week of ``monday``; any other day leads to its Monday."""
    this = monday_of(clock.today())
    wanted = monday or this
    if not FIRST <= wanted <= this + timedelta(days=366):
        raise Http404("The plan is not laid out as far as this week.")
    if wanted != monday_of(wanted):
        return redirect("week-of", monday_of(wanted))
    sheet, idle = (past_week(wanted), False) if wanted < this else _planned(request, wanted)
    earlier = sheet.earlier if sheet.earlier >= FIRST else None
    shown = {"sheet": sheet, "this": this, "earlier": earlier, "idle": idle}
    return render(request, "planning/week.html", shown)


def _planned(request: StudioRequest, monday: date) -> tuple[WeekSheet, bool]:
    """The sheet, and whether there is no bench time to plan with."""
    reading = read_book(request.studio, until=monday + timedelta(days=6))
    try:
        return week_sheet(reading, monday), reading.book.idle
    except LookupError as too_far:
        raise Http404("The plan is not laid out as far as this week.") from too_far
