"""The owner's own hours: how many, in which week, who took some, and the time that is lost."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.contrib import messages
from django.db.models import QuerySet, Sum
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from jobs.planning import actions
from jobs.planning.bench_time import hours_taken, minutes_behind, own_by_week
from jobs.planning.models import Appointment, BenchTime, Fitting, HoursTaken, PlanRules
from jobs.planning.plan.bench import Busy, LostTime, lay_out, lost_time
from jobs.planning.plan.book import OwnTotals, monday_of
from jobs.planning.queries import StudioWeek, read_hours, read_own_weeks, read_week
from jobs.planning.week import own_bar
from studio.shop import clock, tables
from studio.shop.forms import HoursField, ModelForm
from studio.shop.history import of, undoable
from studio.shop.history.pages import undo_step
from studio.shop.http import StudioRequest, owner_only
from studio.shop.locales import show_day
from studio.shop.look.bars import Bar
from studio.shop.models import Profile
from studio.shop.tables import show_page

WEEKS = 6
RECENT_STEPS = 20
MEASURED_DAYS = 56
ENOUGH_DAYS = 5
"""Days with a running clock below which they say nothing about lost time."""

FOR_THE_OWNER = [BenchTime.Purpose.OWN, BenchTime.Purpose.RELEASE]


@dataclass(frozen=True)
class OwnRow:
    """One week's own minutes: usual, chosen instead (or None), and what becomes of them.

    ``placed`` are put on days; they are among those that still fit.
    """

    usual: int
    chosen: int | None
    placed: int
    own: OwnTotals

    @property
    def loose(self) -> int:
        """What the plan finds room for without breaking a promise, makes with a day included."""
        return self.own.fits - self.placed

    @property
    def bar(self) -> Bar:
        """What becomes of them, beside what is usual."""
        return own_bar(self.own, self.usual)


def coming_mondays() -> list[date]:
    first = monday_of(clock.today())
    return [first + timedelta(weeks=ahead) for ahead in range(WEEKS)]


def own_rows(week: StudioWeek, chosen: dict[date, int]) -> list[OwnRow]:
    """This week and the five after it."""
    book, percent = week.book, week.rules.own_percent
    own = own_by_week(week, minutes_behind(week))
    missing: dict[date, int] = defaultdict(int)
    for on_day, minutes in book.own_at_risk:
        missing[monday_of(on_day.day)] += minutes
    return [
        OwnRow(
            usual=week.hours.usual_own(target.monday, percent),
            chosen=chosen.get(target.monday),
            placed=target.placed - missing[target.monday],
            own=own[target.monday],
        )
        for target in book.targets[:WEEKS]
    ]


@dataclass(frozen=True)
class OwnYear:
    """A calendar year, each week in the year of its Monday: own minutes sewn, and taken."""

    year: int
    sewn: int
    taken: int


def own_year(year: int) -> OwnYear:
    """Two queries."""
    since, until = (clock.at(date(start, 1, 1), time.min) for start in (year, year + 1))
    sewn = BenchTime.objects.filter(
        purpose__in=FOR_THE_OWNER, started_at__gte=since, started_at__lt=until
    )
    return OwnYear(year, _total(sewn), _total(hours_taken(year)))


def measured_loss(studio: Profile) -> LostTime | None:
    """What the bench times of the last eight weeks say of lost time; None with too few days.

    Five queries.
    """
    today = clock.today()
    first = today - timedelta(days=MEASURED_DAYS)
    since, until = (clock.at(day, time.min) for day in (first, today))
    inside = {"starts_at__gte": since, "starts_at__lt": until}
    fittings = Fitting.objects.filter(**inside, state=Fitting.State.KEPT)
    others = Appointment.objects.filter(**inside, kind=Appointment.Kind.OTHER)
    rests: list[Fitting | Appointment] = [*fittings, *others]
    times = BenchTime.objects.filter(started_at__gte=since, started_at__lt=until).order_by()
    hours = read_hours(first, today - timedelta(days=1))
    bench = lay_out(
        since,
        MEASURED_DAYS,
        ZoneInfo(studio.time_zone),
        hours.shifts,
        closed=hours.closed,
        busy=[Busy(rest.starts_at, rest.ends_at) for rest in rests],
    )
    sewn = [
        Busy(starts, starts + timedelta(minutes=minutes))
        for starts, minutes in times.values_list("started_at", "minutes")
        if minutes
    ]
    loss = lost_time(bench, sewn)
    return loss if loss.days >= ENOUGH_DAYS else None


def _total(rows: QuerySet[Any]) -> int:
    total: int | None = rows.order_by().aggregate(total=Sum("minutes"))["total"]
    return total or 0


class PlanRulesForm(ModelForm):
    """How the week is planned."""

    class Meta:
        model = PlanRules
        fields = ["own_percent", "lost_percent", "min_piece", "safe_percent"]
        labels = {
            "own_percent": "My share of every week, in %",
            "lost_percent": "Bench time lost to the door and the phone, in %",
            "min_piece": "Shortest sitting, in minutes",
            "safe_percent": "Propose the day that holds in so many cases, in %",
        }
        help_texts = {
            "own_percent": "Of all bench hours of the week; 30 from the start. It is planned "
            "like a promise to a client.",
            "lost_percent": "That much of every stretch at the bench is not counted on: the "
            "door, the phone, threading and tidying.",
            "safe_percent": "80 is eight times out of ten, from how long your timed jobs took; "
            "the drop-off proposes that day.",
            "min_piece": "Work is not cut into pieces shorter than this unless it must be.",
        }


class OwnWeeksForm(forms.Form):
    """One field for each of the coming weeks; an empty one goes back to the usual share."""

    def __init__(
        self, *args: Any, mondays: list[date], chosen: dict[date, int], locale: str, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.mondays = mondays
        for monday in mondays:
            self.fields[monday.isoformat()] = HoursField(
                week=True,
                label=f"Hours of the week of {show_day(monday, locale, year=False)}",
                initial=chosen.get(monday),
            )

    def minutes(self) -> dict[date, int | None]:
        """The minutes of each week, None for the usual share."""
        return {monday: self.cleaned_data[monday.isoformat()] for monday in self.mondays}

    def field_of(self, monday: date) -> forms.BoundField:
        return self[monday.isoformat()]


class HoursTakenTable(tables.StudioTable):
    """Own hours that client work took, week by week."""

    lead, figure, named = "client", "minutes", ("monday", "at")

    monday = tables.DayColumn("Week of")
    minutes = tables.MinutesColumn("Hours")
    ticket = tables.Column(linkify=True, order_by="ticket__number")
    client = tables.Column(
        "Client", accessor="ticket__client__name", order_by="ticket__client__name_key"
    )
    at = tables.DayColumn("Decided")
    by = tables.Column(accessor="by__shown_name", orderable=False)

    class Meta:
        model = HoursTaken
        fields = ("monday", "minutes", "ticket", "client", "at", "by")
        order_by = "-monday"
        empty_text = "No own hour was given away."


@owner_only
@require_http_methods(["GET", "POST"])
def own_hours(request: StudioRequest) -> HttpResponse:
    """Two forms on one page, and the last change to take back; ``save`` says which was sent."""
    sent = request.POST.get("save")
    if sent == "undo":
        return undo_step(request, of(PlanRules.load()), back="own-hours")
    mondays = coming_mondays()
    chosen = read_own_weeks(mondays[0], mondays[-1])
    rules = PlanRulesForm(request.POST if sent == "rules" else None, instance=PlanRules.load())
    weeks = OwnWeeksForm(
        request.POST if sent == "weeks" else None,
        mondays=mondays,
        chosen=chosen,
        locale=request.studio.locale,
    )
    if rules.is_valid():
        actions.set_rules(rules=rules.instance, by=request.user)
        messages.success(request, "Saved.")
        return redirect("own-hours")
    if weeks.is_valid():
        actions.set_own_weeks(minutes=weeks.minutes(), by=request.user)
        messages.success(request, "Saved.")
        return redirect("own-hours")
    rows = own_rows(read_week(request.studio), chosen)
    year = own_year(_year(request.GET.get("year", "")))
    table = HoursTakenTable(hours_taken(year.year), studio=request.studio)
    show_page(table, request)
    return render(
        request,
        "planning/own_hours.html",
        {
            "rules": rules,
            "weeks": weeks,
            "rows": [(row, weeks.field_of(row.own.monday)) for row in rows],
            "lost": measured_loss(request.studio),
            "last_step": undoable(of(rules.instance)[:RECENT_STEPS], request.user),
            "year": year,
            "this_year": clock.today().year,
            "table": table,
        },
    )


def _year(asked: str) -> int:
    """The year asked for, this year when it is none."""
    this_year = clock.today().year
    return int(asked) if asked.isdecimal() and 2000 <= int(asked) <= this_year + 1 else this_year
