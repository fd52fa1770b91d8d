"""The owner's own hours: how many, in which week, and who took some."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from jobs.planning import actions
from jobs.planning.models import PlanRules
from jobs.planning.own_forms import OwnWeeksForm, RulesForm
from jobs.planning.own_hours import (
    chosen_minutes,
    coming_mondays,
    hours_taken,
    measured_loss,
    own_rows,
    own_year,
)
from jobs.planning.reading import read_book
from jobs.planning.tables import HoursTakenTable
from studio.shop import clock
from studio.shop.http import StudioRequest, owner_only
from studio.shop.tables import show_page


@owner_only
@require_http_methods(["GET", "POST"])
def own_hours(request: StudioRequest) -> HttpResponse:
    """Two forms on one page; ``save`` says which one was sent."""
    sent = request.POST.get("save")
    chosen = chosen_minutes()
    rules = RulesForm(request.POST if sent == "rules" else None, instance=PlanRules.load())
    weeks = OwnWeeksForm(
        request.POST if sent == "weeks" else None,
        mondays=coming_mondays(),
        chosen=chosen,
        locale=request.studio.locale,
    )
    if rules.is_valid():
        actions.set_rules(rules=rules.instance)
        messages.success(request, "Saved.")
        return redirect("own-hours")
    if weeks.is_valid():
        for monday, minutes in weeks.minutes().items():
            actions.set_own_week(monday=monday, minutes=minutes)
        messages.success(request, "Saved.")
        return redirect("own-hours")
    reading = read_book(request.studio)
    rows = own_rows(reading, chosen)
    year = own_year(_year(request.GET.get("year", "")))
    table = HoursTakenTable(hours_taken(year.year), studio=request.studio)
    show_page(table, request)
    return render(
        request,
        "planning/own_hours.html",
        {
            "rules": rules,
            "weeks": weeks,
            "rows": [(row, weeks.field_of(row.monday)) for row in rows],
            "lost": measured_loss(request.studio),
            "year": year,
            "this_year": clock.today().year,
            "table": table,
        },
    )


def _year(asked: str) -> int:
    """The year asked for, this year when it is none."""
    this_year = clock.today().year
    return int(asked) if asked.isdecimal() and 2000 <= int(asked) <= this_year + 1 else this_year
