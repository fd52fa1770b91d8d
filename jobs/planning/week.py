"""A week on one sheet: hours day by day, whose they are, what must be done of it, and why."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from operator import attrgetter

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from jobs.planning.core import OWN
from jobs.planning.models import Appointment, BenchTime, Fitting, PlanRules
from jobs.planning.plan.book import Book, OwnTotals, monday_of, week_of
from jobs.planning.plan.days import MustDoBy, must_do
from jobs.planning.plan.weeks import DayBar, WeekBars, six_weeks, week_bars
from jobs.planning.queries import (
    StudioWeek,
    TakenHours,
    TimeRow,
    minutes_by_day,
    read_hours,
    read_own_weeks,
    read_taken,
    read_times,
    read_week,
)
from studio.shop import clock
from studio.shop.http import StudioRequest

WEEK = timedelta(weeks=1)
KINDS: dict[str, str] = {
    BenchTime.Purpose.CLIENT: "clients",
    BenchTime.Purpose.OWN: "own",
    BenchTime.Purpose.RELEASE: "releases",
}
TITLES = {"own": "Own sewing", "releases": "Pattern release"}


@dataclass(frozen=True)
class DayItem:
    """A line of a day's list: a ticket's work, an appointment, or own sewing.

    ``starts`` is the hour of an appointment, ``names`` are the operations, ``waits`` says for what
    they wait and ``done`` that it is behind.
    """

    kind: str
    minutes: int
    ticket: str = ""
    client: str = ""
    names: tuple[str, ...] = ()
    starts: datetime | None = None
    waits: str = ""
    done: bool = False

    @property
    def title(self) -> str:
        """What is said of it that is nobody's ticket."""
        return self.names[0] if self.names else TITLES[self.kind]


@dataclass(frozen=True)
class SheetDay:
    """``past`` days are over, ``today`` is under way."""

    bar: DayBar
    items: list[DayItem]
    past: bool = True
    today: bool = False


@dataclass(frozen=True)
class Glance:
    """One of the six weeks at a glance."""

    bars: WeekBars
    own: OwnTotals


@dataclass(frozen=True)
class WeekSheet:
    """``bars`` and ``days`` of the week. ``due`` is the must-do until it ends, None once it did.

    ``past`` weeks show what was sewn. ``taken`` are the own minutes that tickets took. ``later``
    is the next week that can be shown.
    """

    bars: WeekBars
    days: list[SheetDay]
    own: OwnTotals
    taken: list[TakenHours]
    past: bool
    due: MustDoBy | None = None
    glance: list[Glance] | None = None
    later: date | None = None

    @property
    def monday(self) -> date:
        return self.bars.monday

    @property
    def sunday(self) -> date:
        return self.monday + timedelta(days=6)

    @property
    def earlier(self) -> date:
        return self.monday - WEEK

    @property
    def longest_week(self) -> int:
        """Minutes of the longest of the six weeks, for bars of one scale; at least 1."""
        return max(1, *(week.bars.whole for week in self.glance or []))

    @property
    def taken_minutes(self) -> int:
        return sum(row.minutes for row in self.taken)


def week_sheet(week: StudioWeek, monday: date) -> WeekSheet:
    """This week or one of those the bench is laid out for.

    Raises LookupError for any other week.
    """
    book = week.book
    own = book.own_totals()
    if monday not in own:
        raise LookupError(monday)
    done, sewn = sewn_items(week.times), minutes_by_day(week.times)
    comes = appointment_items(week, monday)
    bars = week_bars(book, monday, sewn)
    return WeekSheet(
        bars=bars,
        days=[
            SheetDay(
                bar,
                [
                    *done.get(bar.day, []),
                    *comes.get(bar.day, []),
                    *planned_items(book, bar.day),
                ],
                past=bar.day < book.bench.today,
                today=bar.day == book.bench.today,
            )
            for bar in bars.days
        ],
        own=own[monday],
        taken=[row for row in week.taken if row.monday == monday],
        past=False,
        due=must_do(book, monday + timedelta(days=6)),
        glance=[Glance(bars, own[bars.monday]) for bars in six_weeks(book, sewn)],
        later=monday + WEEK if monday + WEEK <= book.bench.buckets[-1].day else None,
    )


def sewn_items(times: Iterable[TimeRow]) -> dict[date, list[DayItem]]:
    """What was really sewn, by local day: each ticket is one line; own work follows."""
    zone = timezone.get_current_timezone()
    rows: dict[tuple[date, str, str], list[TimeRow]] = defaultdict(list)
    for row in times:
        if row.minutes:
            day = row.started_at.astimezone(zone).date()
            rows[day, row.purpose, row.ticket or ""].append(row)
    items: dict[date, list[DayItem]] = defaultdict(list)
    for (day, purpose, ticket), spent in sorted(rows.items()):
        names = dict.fromkeys(f"{row.garment} {row.name}" for row in spent if ticket)
        items[day].append(
            DayItem(
                kind=KINDS[purpose],
                minutes=sum(row.minutes or 0 for row in spent),
                ticket=ticket,
                client=spent[0].client or "",
                names=tuple(names),
                done=True,
            )
        )
    return items


def planned_items(book: Book, day: date) -> list[DayItem]:
    """What is sewn on a day, for whom, in due order, and what is the owner's."""
    first, last = max(0, book.bench.first_of_day(day)), book.bench.last_of_day(day)
    works: dict[tuple[str, str, str], dict[str, int]] = defaultdict(dict)
    own: dict[str, int] = defaultdict(int)
    for bucket in range(first, last + 1):
        for stage, minutes in book.plan.days[bucket]:
            if stage.startswith(OWN):
                make = book.make_of(stage)
                own[make.words if make else ""] += minutes
                continue
            job, work = book.load.job_of[stage], book.load.works[stage]
            name = f"{work.garment} {work.name}"
            names = works[job.ticket, job.client, work.waits]
            names[name] = names.get(name, 0) + minutes
    items = [
        DayItem("clients", sum(names.values()), ticket, client, tuple(names), waits=waits)
        for (ticket, client, waits), names in works.items()
    ]
    own_items = [
        DayItem("own", own[name], names=(name,) if name else ())
        for name in sorted(own, key=lambda name: (not name, name))
    ]
    return [*items, *own_items]


def appointment_items(week: StudioWeek, monday: date) -> dict[date, list[DayItem]]:
    """Fittings, appointments and hours put on days of a week, by local day and in clock order."""
    bench, sunday = week.book.bench, monday + timedelta(days=6)
    items: dict[date, list[DayItem]] = defaultdict(list)
    for fitting in week.fittings:
        day = bench.day_of(fitting.starts)
        if monday <= day <= sunday and not fitting.fell_through:
            ticket = week.ticket_of[fitting.ticket]
            items[day].append(
                DayItem(
                    "appointments",
                    fitting.minutes,
                    ticket.number,
                    ticket.client,
                    names=(fitting.kind,),
                    starts=fitting.starts,
                    done=fitting.ends <= bench.now,
                )
            )
    for appointment in week.appointments:
        day = bench.day_of(appointment.starts_at)
        if monday <= day <= sunday:
            items[day].append(
                DayItem(
                    "own" if appointment.kind == Appointment.Kind.OWN else "appointments",
                    appointment.minutes,
                    names=(str(appointment),),
                    starts=appointment.starts_at,
                    done=appointment.ends_at <= bench.now,
                )
            )
    for rows in items.values():
        rows.sort(key=attrgetter("starts"))
    return items


def past_week(monday: date) -> WeekSheet:
    """The minutes that were spent, in eight queries. Own hours are held against the usual share."""
    sunday = monday + timedelta(days=6)
    starts, ends = (clock.at(monday + timedelta(days=days), time.min) for days in (0, 7))
    times, rules = read_times(starts, ends), PlanRules.load()
    hours, chosen = read_hours(monday, sunday), read_own_weeks(monday, sunday)
    done, sewn, busy = sewn_items(times), minutes_by_day(times), _appointments(starts, ends)
    bars = [
        DayBar(
            day=day,
            capacity=0,
            clients=0,
            own=0,
            appointments=busy.get(day, 0),
            free=0,
            done_clients=sewn.get((day, "client"), 0),
            done_own=sewn.get((day, "own"), 0),
            done_releases=sewn.get((day, "release"), 0),
        )
        for day in week_of(monday)
    ]
    target = chosen.get(monday, hours.usual_own(monday, rules.own_percent))
    return WeekSheet(
        bars=WeekBars(monday, tuple(bars)),
        days=[SheetDay(bar, done.get(bar.day, [])) for bar in bars],
        own=OwnTotals(monday, target, sum(bar.done_own for bar in bars), 0),
        taken=read_taken(monday, sunday),
        past=True,
        later=monday + WEEK,
    )


def _appointments(starts: datetime, ends: datetime) -> dict[date, int]:
    """Minutes of the fittings kept and the other appointments of each day."""
    fittings = Fitting.objects.filter(state=Fitting.State.KEPT)
    others = Appointment.objects.filter(kind=Appointment.Kind.OTHER)
    minutes: dict[date, int] = defaultdict(int)
    for rows in (fittings, others):
        of_week = rows.filter(starts_at__gte=starts, starts_at__lt=ends).order_by()
        for moment, length in of_week.values_list("starts_at", "minutes"):
            minutes[clock.local(moment).date()] += length
    return minutes


FIRST = date(2000, 1, 3)
"""The Monday before which nothing can have been written down."""


@require_GET
def week_page(request: StudioRequest, monday: date | None = None) -> HttpResponse:
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
    week = read_week(request.studio, until=monday + timedelta(days=6))
    try:
        return week_sheet(week, monday), week.book.idle
    except LookupError as too_far:
        raise Http404("The plan is not laid out as far as this week.") from too_far
