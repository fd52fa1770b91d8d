"""The verbs of the week. Each is one function, one transaction, and safe to send twice."""

from jobs.planning.actions.bench_time import (
    catch_up,
    finish_work,
    log_time,
    start_clock,
    stop_clock,
)
from jobs.planning.actions.cutting import ready_to_cut
from jobs.planning.actions.fittings import (
    book_fitting,
    cancel_fitting,
    keep_fitting,
    miss_fitting,
    move_fitting,
    work_after,
)
from jobs.planning.actions.own import (
    decline,
    put_appointment,
    set_own_week,
    set_rules,
    take_hours,
    take_off_appointment,
)
from jobs.planning.actions.waits import end_wait, hold
from jobs.planning.errors import PlanError

__all__ = [
    "PlanError",
    "book_fitting",
    "cancel_fitting",
    "catch_up",
    "decline",
    "end_wait",
    "finish_work",
    "hold",
    "keep_fitting",
    "log_time",
    "miss_fitting",
    "move_fitting",
    "put_appointment",
    "ready_to_cut",
    "set_own_week",
    "set_rules",
    "start_clock",
    "stop_clock",
    "take_hours",
    "take_off_appointment",
    "work_after",
]
