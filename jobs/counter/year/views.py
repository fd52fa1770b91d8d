"""The year's page, and the rows behind its figures."""

from dataclasses import asdict

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.billing.queries import income_rows
from jobs.counter.year import queries
from jobs.counter.year.tables import IncomeTable, WeeksTable
from jobs.planning.years import spent_by_week
from studio.shop import clock
from studio.shop.access import owner_only
from studio.shop.http import StudioRequest
from studio.shop.models import Profile
from studio.shop.paging import show_page

FIRST = 2000


@require_GET
def year(request: StudioRequest, year: int | None = None) -> HttpResponse:
    """This year or an earlier one; ``kind``, ``whom`` and ``fate`` narrow what is pictured."""
    year = known_year(year or clock.today().year)
    narrowed = queries.Narrowed(*(request.GET.get(name) for name in ("kind", "whom", "fate")))
    sheet = queries.year_sheet(year, narrowed=narrowed, money=request.user.is_owner)
    told = {
        "sheet": sheet,
        "narrowed": narrowed,
        "length_unit": "yd" if request.studio.unit == Profile.Unit.INCH else "m",
        **_neighbours(year),
    }
    return render(request, "counter/year/year.html", told)


@require_GET
def hours(request: StudioRequest, year: int) -> HttpResponse:
    """The year's bench time week by week."""
    weeks = [
        {"monday": monday, **asdict(spent)}
        for monday, spent in spent_by_week(known_year(year)).items()
    ]
    table = WeeksTable(weeks, studio=request.studio)
    show_page(table, request)
    return render(request, "counter/year/hours.html", {"table": table, "year": year})


@owner_only
@require_GET
def income(request: StudioRequest, year: int) -> HttpResponse:
    """The invoiced lines of the year; ``what`` names one operation."""
    what = request.GET.get("what")
    rows = income_rows(*queries.days_of(known_year(year)), what)
    table = IncomeTable(rows, studio=request.studio)
    show_page(table, request)
    told = {"table": table, "year": year, "what": what, "net": sum(row.net for row in rows)}
    return render(request, "counter/year/income.html", told)


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
