"""A week that is over, as it really was."""

from datetime import date, datetime, time, timedelta

from jobs.planning.models import Appointment, Fitting, PlanRules
from jobs.planning.plan.weeks import DayBar, WeekBars
from jobs.planning.reading import Shop, read_shifts, usual_minutes
from jobs.planning.records import read_dates, read_times
from jobs.planning.week_sheet import Day, OwnHours, WeekSheet, sewn
from studio.shop import clock


def past_week(monday: date) -> WeekSheet:
    """The minutes that were spent, in six queries. Own hours are held against the usual share."""
    starts, ends = (clock.at(monday + timedelta(days=days), time.min) for days in (0, 7))
    times, dates = read_times(starts, ends), read_dates(monday, monday + timedelta(days=6))
    shop, rules = Shop(read_shifts(), dates.closed), PlanRules.load()
    done, busy = sewn(times), _appointments(starts, ends)
    bars = [
        DayBar(
            day=day,
            capacity=0,
            clients=0,
            own=0,
            appointments=busy.get(day, 0),
            free=0,
            done_clients=done.minutes.get((day, "client"), 0),
            done_own=done.minutes.get((day, "own"), 0),
            done_releases=done.minutes.get((day, "release"), 0),
        )
        for day in (monday + timedelta(days=ahead) for ahead in range(7))
    ]
    target = dates.own.get(monday, usual_minutes(rules, shop, monday))
    return WeekSheet(
        bars=WeekBars(monday, tuple(bars)),
        days=[Day(bar, done.items.get(bar.day, [])) for bar in bars],
        own=OwnHours(monday, target, sum(bar.done_own for bar in bars), 0),
        taken=list(dates.taken),
        past=True,
        later=monday + timedelta(weeks=1),
    )


def _appointments(starts: datetime, ends: datetime) -> dict[date, int]:
    """Minutes of the fittings kept and the other appointments of each day."""
    fittings = Fitting.objects.filter(state=Fitting.State.KEPT)
    others = Appointment.objects.filter(kind=Appointment.Kind.OTHER)
    minutes: dict[date, int] = {}
    for rows in (fittings, others):
        found = rows.filter(starts_at__gte=starts, starts_at__lt=ends).order_by()
        for moment, length in found.values_list("starts_at", "minutes"):
            day = clock.local(moment).date()
            minutes[day] = minutes.get(day, 0) + length
    return minutes
