"""The planner's arithmetic: exact, explained, in whole minutes and whole buckets.

A bucket is a stretch of bench time that no appointment cuts; bucket 0 is now. Windows include
both ends. One pair of hands: the capacities of two people may not be added up. Everything
derives from one plan, earliest due first, and from one backward recurrence. Plain Python without
floats but for the estimates; the answers do not depend on the order of what is put in.
"""

from jobs.planning.core.day_lists import Piece, WeekPlan, fewest_changes, plan_weeks
from jobs.planning.core.earliest_due_first import Plan, edf, fits, spare
from jobs.planning.core.fewest_moved import FewestMoved, fewest_moved
from jobs.planning.core.honest_dates import (
    FittingRule,
    Pickup,
    Room,
    earliest_due,
    earliest_pickup,
    room,
)
from jobs.planning.core.likely_dates import (
    GuessedStage,
    Ratio,
    Ratios,
    Timed,
    chance_by_date,
    credibility,
    fit_ratios,
    likely_date,
    median_remaining,
)
from jobs.planning.core.own_hours import (
    OWN,
    KeptWeek,
    MustDo,
    OwnPlan,
    must_do,
    own_minutes,
    own_plan,
    share_stages,
)
from jobs.planning.core.rush import Impact, LateStage, give_room, rush_impact
from jobs.planning.core.stages import (
    Calendar,
    HorizonError,
    NoBenchTimeError,
    NoDayError,
    PlanningError,
    PreparedStages,
    Stage,
    WindowError,
    agreeable,
    last_bucket,
    prepare,
    reach_of,
)
from jobs.planning.core.too_much import (
    Bottleneck,
    Overtime,
    bottleneck,
    lateness,
    least_overtime,
    overtime,
)

__all__ = [
    "OWN",
    "Bottleneck",
    "Calendar",
    "FewestMoved",
    "FittingRule",
    "GuessedStage",
    "HorizonError",
    "Impact",
    "KeptWeek",
    "LateStage",
    "MustDo",
    "NoBenchTimeError",
    "NoDayError",
    "Overtime",
    "OwnPlan",
    "Pickup",
    "Piece",
    "Plan",
    "PlanningError",
    "PreparedStages",
    "Ratio",
    "Ratios",
    "Room",
    "Stage",
    "Timed",
    "WeekPlan",
    "WindowError",
    "agreeable",
    "bottleneck",
    "chance_by_date",
    "credibility",
    "earliest_due",
    "earliest_pickup",
    "edf",
    "fewest_changes",
    "fewest_moved",
    "fit_ratios",
    "fits",
    "give_room",
    "last_bucket",
    "lateness",
    "least_overtime",
    "likely_date",
    "median_remaining",
    "must_do",
    "overtime",
    "own_minutes",
    "own_plan",
    "plan_weeks",
    "prepare",
    "reach_of",
    "room",
    "rush_impact",
    "share_stages",
    "spare",
]
