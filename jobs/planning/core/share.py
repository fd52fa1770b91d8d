"""The hours the owner keeps: planned as jobs, and how many of them survive."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jobs.planning.core.edf import settle
from jobs.planning.core.errors import PlanningError
from jobs.planning.core.stages import Book, Stage
from jobs.planning.core.stealing import Weeks, check_weeks, give_way

OWN = "~own"
"""Ticket of own time. It sorts behind numbers and letters, so that clients come first on ties."""


@dataclass(frozen=True)
class OwnWeek:
    """Of ``target`` own minutes in ``first`` to ``last``, ``kept`` survive and ``lost`` do not.

    ``capacity`` is the bench time of the week. ``by_bucket`` says where the kept minutes lie if
    they are taken as early as they can be.
    """

    first: int
    last: int
    target: int
    kept: int
    lost: int
    capacity: int
    by_bucket: tuple[int, ...]


def share_stages(weeks: Weeks, minutes: int | Sequence[int]) -> list[Stage]:
    """One stage per week whose window is the week, for a week's own ``minutes``.

    With one pair of hands, "at least so many minutes of this week are mine" is exactly one more
    job; a smaller capacity on every day, or a weekly budget for clients, is not. Weeks of no
    minutes are left out. O(number of weeks).

    Raises PlanningError if the weeks overlap, or numbers of weeks and minutes differ.
    """
    check_weeks(weeks, max((last for _, last in weeks), default=0) + 1)
    return [
        Stage(f"{OWN} {first}-{last}", f"{OWN} {first}", 0, target, first, last)
        for (first, last), target in zip(weeks, targets(weeks, minutes), strict=True)
        if target
    ]


def targets(weeks: Weeks, minutes: int | Sequence[int]) -> list[int]:
    """One target per week. Raises PlanningError for negative ones or a wrong number of them."""
    each = [minutes] * len(weeks) if isinstance(minutes, int) else list(minutes)
    if len(each) != len(weeks) or min(each, default=0) < 0:
        raise PlanningError("Each week needs one target of 0 minutes or more.")
    return each


def own_weeks(
    capacity: Sequence[int], stages: Iterable[Stage], weeks: Weeks, target: int | Sequence[int]
) -> list[OwnWeek]:
    """The own minutes that survive in each week when no promise may break, nearest week first.

    Any order of the weeks loses the same smallest total; nearest first fixes the split. Found by
    slack stealing, O(T^2 + n log n). An overfull book is settled first: late stages are due when
    earliest-due-first finishes them.

    Source: the reachable own minutes per week form a polymatroid (contraction of a flow
    polymatroid; A. Federgruen, H. Groenevelt, Management Science 32 (1986), 341-349), over which
    the greedy choice is the best.

    Raises PlanningError if the weeks overlap or leave the capacity; else as `edf` does.
    """
    return settled_own_weeks(capacity, *settle(capacity, stages), weeks, target)


def settled_own_weeks(
    capacity: Sequence[int],
    longer: Sequence[int],
    settled: Book,
    weeks: Weeks,
    target: int | Sequence[int],
) -> list[OwnWeek]:
    """`own_weeks` for a book that `settle` has been at: ``longer`` and ``settled`` are its answer.

    Same errors, without the complexity of settling.
    """
    check_weeks(weeks, len(capacity))
    wanted = targets(weeks, target)
    own = give_way(longer, settled, weeks, wanted).own
    return [
        OwnWeek(
            first=first,
            last=last,
            target=goal,
            kept=sum(own[first : last + 1]),
            lost=goal - sum(own[first : last + 1]),
            capacity=sum(capacity[first : last + 1]),
            by_bucket=own[first : last + 1],
        )
        for (first, last), goal in zip(weeks, wanted, strict=True)
    ]


def own_minutes(
    capacity: Sequence[int], stages: Iterable[Stage], weeks: Weeks, target: int | Sequence[int]
) -> list[int]:
    """`OwnWeek.kept` of `own_weeks`. Same complexity and errors."""
    return [week.kept for week in own_weeks(capacity, stages, weeks, target)]
