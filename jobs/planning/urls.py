"""The week: what must be done, fittings, waiting work, and the owner's own hours."""

from django.urls import URLPattern, URLResolver, include, path, register_converter

from jobs.planning import feed
from jobs.planning.views import (
    appointments,
    clock,
    cutting,
    fitting_steps,
    fittings,
    own,
    rush,
    size_minutes,
    too_much,
    waits,
    week,
)
from studio.shop.http import IsoDate

register_converter(IsoDate, "iso")

urlpatterns: list[URLPattern | URLResolver] = [
    path("calendar/<slug:key>.ics", feed.calendar_feed, name="calendar-feed"),
    path("studio/calendar/", feed.feed_page, name="studio-calendar"),
    path("studio/calendar/new/", feed.feed_open, name="studio-calendar-new"),
    path("studio/calendar/off/", feed.feed_close, name="studio-calendar-off"),
    path("week/", week.week, name="week"),
    path("week/<iso:monday>/", week.week, name="week-of"),
    path("clock/start/", clock.start, name="clock-start"),
    path("clock/stop/", clock.stop, name="clock-stop"),
    path("clock/catch-up/", clock.catch_up, name="clock-catch-up"),
    path("t/<slug:number>/fittings/new/", fittings.book, name="fitting-book"),
    path("t/<slug:number>/fittings/work/", fitting_steps.work_after, name="fitting-work"),
    path("fittings/<int:pk>/move/", fittings.move, name="fitting-move"),
    path("fittings/<int:pk>/kept/", fitting_steps.kept, name="fitting-kept"),
    path("fittings/<int:pk>/missed/", fitting_steps.missed, name="fitting-missed"),
    path("fittings/<int:pk>/cancel/", fitting_steps.cancel, name="fitting-cancel"),
    path("lines/<int:pk>/ready-to-cut/", cutting.ready_to_cut, name="line-cut"),
    path("lines/<int:pk>/wait/", waits.line_wait, name="line-wait"),
    path("waits/<int:pk>/end/", waits.wait_end, name="wait-end"),
    path("week/own/", own.own_hours, name="own-hours"),
    path("own/makes/<int:pk>/clock/", clock.make_clock, name="make-clock"),
    path("own/fits/", include("jobs.planning.fitting_in.urls")),
    path("own/releases/", include("jobs.planning.releasing.urls")),
    path("hems/minutes/", size_minutes.hem_minutes, name="hem-minutes"),
    path("rush/", rush.rush, name="rush"),
    path("too-much/", too_much.too_much, name="too-much"),
    path("t/<slug:number>/move-promise/", too_much.move, name="too-much-move"),
    path("waiting/", waits.waiting, name="waiting"),
    path("appointments/", appointments.appointments, name="appointments"),
    path(
        "appointments/<int:pk>/remove/", appointments.appointment_remove, name="appointment-remove"
    ),
]
