"""The week: what must be done, fittings, waiting work, and the owner's own hours."""

from django.urls import URLPattern, path, register_converter

from jobs.planning import (
    appointments,
    clock,
    feed,
    fittings,
    hems,
    lifted,
    own_hours,
    releases,
    rush,
    spare_hours,
    todo,
    too_much,
    waits,
    week,
)
from studio.shop.clock import IsoDate

register_converter(IsoDate, "iso")

urlpatterns: list[URLPattern] = [
    path("calendar/<slug:key>.ics", feed.calendar_feed, name="calendar-feed"),
    path("studio/calendar/", feed.feed_page, name="studio-calendar"),
    path("studio/calendar/new/", feed.feed_open, name="studio-calendar-new"),
    path("studio/calendar/off/", feed.feed_close, name="studio-calendar-off"),
    path("week/", week.week_page, name="week"),
    path("week/<iso:monday>/", week.week_page, name="week-of"),
    path("week/put/", lifted.put, name="week-put"),
    path("week/loose/", lifted.loose, name="week-loose"),
    path("week/undo/", lifted.undo, name="week-undo"),
    path("clock/start/", clock.start, name="clock-start"),
    path("clock/stop/", clock.stop, name="clock-stop"),
    path("clock/catch-up/", clock.catch_up, name="clock-catch-up"),
    path("t/<slug:number>/fittings/new/", fittings.book, name="fitting-book"),
    path("t/<slug:number>/fittings/work/", fittings.work_after, name="fitting-work"),
    path("fittings/<int:pk>/move/", fittings.move, name="fitting-move"),
    path("fittings/<int:pk>/kept/", fittings.kept, name="fitting-kept"),
    path("fittings/<int:pk>/missed/", fittings.missed, name="fitting-missed"),
    path("fittings/<int:pk>/cancel/", fittings.cancel, name="fitting-cancel"),
    path("lines/<int:pk>/ready-to-cut/", hems.ready_to_cut, name="line-cut"),
    path("lines/<int:pk>/wait/", waits.line_wait, name="line-wait"),
    path("waits/<int:pk>/end/", waits.wait_end, name="wait-end"),
    path("week/own/", own_hours.own_hours, name="own-hours"),
    path("own/makes/<int:pk>/clock/", clock.make_clock, name="make-clock"),
    path("own/fits/", spare_hours.what_fits, name="what-fits"),
    path("own/patterns/<int:pk>/hours/", clock.pattern_hours, name="pattern-hours"),
    path("own/releases/", releases.releases, name="releases"),
    path("own/releases/<int:pk>/", releases.release, name="release"),
    path("own/releases/stages/<int:pk>/minutes/", releases.stage_minutes, name="stage-minutes"),
    path("own/releases/minutes/<int:pk>/off/", releases.minutes_off, name="stage-minutes-off"),
    path("own/todo/", todo.todo, name="todo"),
    path("own/todo/<int:pk>/tick/", todo.tick, name="todo-tick"),
    path("own/todo/<int:pk>/first/", todo.first, name="todo-first"),
    path("own/todo/<int:pk>/remove/", todo.remove, name="todo-remove"),
    path("own/todo/bought/<int:pk>/", todo.bought, name="todo-bought"),
    path("own/todo/undo/", todo.undo, name="todo-undo"),
    path("hems/minutes/", hems.hem_minutes, name="hem-minutes"),
    path("rush/", rush.rush, name="rush"),
    path("too-much/", too_much.too_much, name="too-much"),
    path("too-much/agree/", too_much.agree, name="too-much-agree"),
    path("new-days/", too_much.new_days, name="new-days"),
    path("new-days/undo/", too_much.undo_new_days, name="new-days-undo"),
    path("t/<slug:number>/new-day-told/", too_much.new_day_told, name="new-day-told"),
    path("t/<slug:number>/move-promise/", too_much.move, name="too-much-move"),
    path("waiting/", waits.waiting, name="waiting"),
    path("appointments/", appointments.appointments, name="appointments"),
    path(
        "appointments/<int:pk>/remove/", appointments.appointment_remove, name="appointment-remove"
    ),
]
