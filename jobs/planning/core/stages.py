"""Stages of work and the order in which they are taken up."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import groupby
from operator import attrgetter

from jobs.planning.core.errors import PlanningError, WindowError


@dataclass(frozen=True, slots=True)
class Stage:
    """A piece of one ticket's work with a window of its own.

    ``processing`` is whole minutes left. The stage may be worked in the buckets ``release`` to
    ``due``, both included; bucket 0 is now, and a negative ``due`` is a promise already past.
    Stages of a ticket are worked in the order of ``seq``; equal numbers have no order.
    """

    id: str
    ticket: str
    seq: int
    processing: int
    release: int
    due: int


class Book(list[Stage]):
    """Stages as `prepare` leaves them. Copies and sums of it are plain lists again."""


IN_ORDER = attrgetter("due", "ticket", "seq", "id")


def last_bucket(stage: Stage) -> int:
    """The bucket a stage has to be done by: its due bucket, or now if that is past."""
    return max(stage.due, 0)


def prepare(stages: Iterable[Stage]) -> Book:
    """Return the stages that need minutes, in due order, with agreeable windows.

    Along a ticket, releases become the running maximum and due buckets the backward minimum.
    That changes neither feasibility nor the maximum lateness, and lets earliest-due-first keep
    the order of the stages by itself. Stages without minutes pass their window on and are then
    left out. Releases in the past become 0.

    Ties: (due, ticket, seq, id). Complexity: O(n log n); O(1) for a book already prepared.

    Raises
    ------
    WindowError
        If a stage's release comes after its due bucket, by itself or through its ticket. A due
        bucket in the past is no error as long as the work can start now.
    PlanningError
        If two stages share an id or one has negative minutes.

    Notes
    -----
    K. R. Baker, E. L. Lawler, J. K. Lenstra, A. H. G. Rinnooy Kan, "Preemptive scheduling of a
    single machine to minimize maximum cost subject to release dates and precedence constraints",
    Operations Research 31 (1983), 381-386.
    """
    if isinstance(stages, Book):
        return stages
    rows = sorted(stages, key=IN_ORDER)
    if len({stage.id for stage in rows}) < len(rows):
        raise PlanningError("Two stages have the same id.")
    rows = rows if _is_agreeable(rows) else sorted(agreeable(rows), key=IN_ORDER)
    return Book([stage for stage in rows if stage.processing])


def agreeable(stages: Iterable[Stage]) -> list[Stage]:
    """Windows that do not contradict the order of the ticket, stages without minutes included.

    Raises WindowError and PlanningError as `prepare` does.
    """
    tickets: dict[str, list[Stage]] = defaultdict(list)
    for stage in stages:
        tickets[stage.ticket].append(stage)
    return [stage for ticket in tickets.values() for stage in _untangle(ticket)]


def _is_agreeable(rows: list[Stage]) -> bool:
    """Whether stages in due order need no change. Raises for windows and minutes below zero."""
    latest: dict[str, Stage] = {}
    fine = True
    for stage in rows:
        if stage.release > stage.due or stage.processing < 0:
            _check(stage)
        before = latest.get(stage.ticket)
        if stage.release < 0 or (
            before is not None and (before.seq > stage.seq or before.release > stage.release)
        ):
            fine = False
        latest[stage.ticket] = stage
    return fine


def _check(stage: Stage) -> None:
    if stage.release > stage.due and stage.release > 0:
        raise WindowError(stage.ticket, stage.id, stage.release, stage.due)
    if stage.processing < 0:
        raise PlanningError(f"Stage {stage.id} has {stage.processing} minutes.")


def _untangle(ticket: list[Stage]) -> list[Stage]:
    """One ticket's stages, each group of equal ``seq`` between its neighbours' windows."""
    steps = [list(group) for _, group in groupby(sorted(ticket, key=_SEQ), key=_SEQ)]
    starts: dict[str, int] = {}
    earliest = 0
    for step in steps:
        starts |= {stage.id: max(stage.release, earliest) for stage in step}
        earliest = max(starts[stage.id] for stage in step)
    ends: dict[str, int] = {}
    latest = max(stage.due for stage in ticket)
    for step in reversed(steps):
        ends |= {stage.id: min(stage.due, latest) for stage in step}
        latest = min(ends[stage.id] for stage in step)
    changed = [replace(stage, release=starts[stage.id], due=ends[stage.id]) for stage in ticket]
    for stage in changed:
        _check(stage)
    return changed


_SEQ = attrgetter("seq")
