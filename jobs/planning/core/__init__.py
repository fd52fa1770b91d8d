"""The planner's arithmetic: exact, explained, in whole minutes and whole buckets.

A bucket is a stretch of bench time that no appointment cuts; bucket 0 is now. Windows include
both ends. One pair of hands: the capacities of two people may not be added up. Everything
derives from one plan, earliest due first, and from one backward recurrence. Plain Python without
floats but for the estimates; the answers do not depend on the order of what is put in.
"""

from jobs.planning.core.calendars import Calendar
from jobs.planning.core.chances import Guess, Promise, chance_by_date, likely_date, promise
from jobs.planning.core.dates import Offer, earliest_due, offer
from jobs.planning.core.edf import Plan, edf, fits
from jobs.planning.core.errors import (
    HorizonError,
    NoBenchTimeError,
    NoDayError,
    PlanningError,
    WindowError,
)
from jobs.planning.core.estimates import (
    Ratio,
    Ratios,
    Timed,
    credibility,
    fit_ratios,
    median_remaining,
    remaining,
)
from jobs.planning.core.fittings import FittingRule, Pickup, earliest_pickup
from jobs.planning.core.late import fewest_late, late_report
from jobs.planning.core.makes import Make, Suggestion, suggest
from jobs.planning.core.mustdo import MustDo, must_do, must_do_curve
from jobs.planning.core.overtime import Overtime, least_overtime, overtime
from jobs.planning.core.plan import WeekPlan, plan_weeks, week_plan
from jobs.planning.core.repairs import Move, Repairs, repairs
from jobs.planning.core.rush import Impact, LateStage, rush_impact
from jobs.planning.core.share import OwnWeek, own_minutes, own_weeks, share_stages
from jobs.planning.core.spare import Room, room, spare
from jobs.planning.core.stages import Stage, prepare
from jobs.planning.core.verdict import Bottleneck, bottleneck, lateness, max_lateness

__all__ = [
    "Bottleneck",
    "Calendar",
    "FittingRule",
    "Guess",
    "HorizonError",
    "Impact",
    "LateStage",
    "Make",
    "Move",
    "MustDo",
    "NoBenchTimeError",
    "NoDayError",
    "Offer",
    "Overtime",
    "OwnWeek",
    "Pickup",
    "Plan",
    "PlanningError",
    "Promise",
    "Ratio",
    "Ratios",
    "Repairs",
    "Room",
    "Stage",
    "Suggestion",
    "Timed",
    "WeekPlan",
    "WindowError",
    "bottleneck",
    "chance_by_date",
    "credibility",
    "earliest_due",
    "earliest_pickup",
    "edf",
    "fewest_late",
    "fit_ratios",
    "fits",
    "late_report",
    "lateness",
    "least_overtime",
    "likely_date",
    "max_lateness",
    "median_remaining",
    "must_do",
    "must_do_curve",
    "offer",
    "overtime",
    "own_minutes",
    "own_weeks",
    "plan_weeks",
    "prepare",
    "promise",
    "remaining",
    "repairs",
    "room",
    "rush_impact",
    "share_stages",
    "spare",
    "suggest",
    "week_plan",
]
