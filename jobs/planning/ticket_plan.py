"""What a ticket's page shows of the week: its fittings, and what holds up its open operations."""

from dataclasses import dataclass

from django.db.models import Prefetch, QuerySet

from jobs.planning.fittings import fitting_words
from jobs.planning.models import FELL_THROUGH, STANDS, Fitting, Wait
from jobs.planning.plan.workload import (
    TO_BOOK,
    TO_MOVE,
    FittingRow,
    LineRow,
    is_marked,
    needs_cut_mark,
    work_of,
)
from jobs.pricing.models import FittingPlace, WorkOrder
from jobs.tickets.heels import other_shoes
from jobs.tickets.models import Line, Ticket
from studio.shop import clock
from studio.shop.models import Profile


@dataclass(frozen=True)
class TicketFitting:
    """A fitting as the ticket's page shows it.

    ``now`` says that its hour has come and it still has to be called kept or missed;
    ``too_late`` that it comes after the promise; ``wants_day`` that it was missed and no later
    one makes up for it.
    """

    fitting: Fitting
    now: bool
    too_late: bool
    wants_day: bool


@dataclass(frozen=True)
class LinePlan:
    """An open operation: what it waits for, and which fittings it may stand after.

    ``after`` is the fitting to come that it stands after, ``wants_fitting`` says that one has to be
    booked or moved first. ``unmarked`` is a hem that may not be cut yet, ``needs_heel`` one whose
    heel is not known, ``other_shoes`` says that it was pinned in other ones.
    """

    line: Line
    wait: Wait | None
    choices: list[tuple[str, str, bool]]
    unmarked: bool
    needs_heel: bool
    other_shoes: str
    after: Fitting | None = None
    wants_fitting: bool = False


@dataclass(frozen=True)
class TicketPlan:
    """``rows`` are the open operations by their key; none once the ticket is closed."""

    fittings: list[TicketFitting]
    rows: dict[int, LinePlan]

    @property
    def too_late(self) -> list[Fitting]:
        return [row.fitting for row in self.fittings if row.too_late]

    @property
    def has_choices(self) -> bool:
        """Whether there is a fitting that work could stand after."""
        return any(row.choices for row in self.rows.values())


def ticket_plan(ticket: Ticket, studio: Profile) -> TicketPlan:
    """The ticket's fittings, and what holds up its open operations. Three queries."""
    fittings = list(ticket.fittings.all())
    now = clock.now()
    rows = [
        TicketFitting(
            fitting=fitting,
            now=booked and fitting.starts_at <= now,
            too_late=booked and fitting.starts_at > ticket.promise_at,
            wants_day=fitting.state == Fitting.State.MISSED and not _made_up(fitting, fittings),
        )
        for fitting in fittings
        for booked in [fitting.state == Fitting.State.BOOKED]
    ]
    if not ticket.is_open:
        return TicketPlan(rows, {})
    lines = {line.pk: _line_row(line, fittings, studio) for line in _lines(ticket)}
    return TicketPlan(rows, lines)


def _made_up(missed: Fitting, fittings: list[Fitting]) -> bool:
    return any(
        fitting.starts_at > missed.starts_at and fitting.state in STANDS for fitting in fittings
    )


def _lines(ticket: Ticket) -> QuerySet[Line]:
    """Its open operations with fitting, mark and open wait, in two queries."""
    waiting = Prefetch("waits", Wait.objects.filter(ended_at=None))
    return (
        Line.objects.filter(
            garment__ticket=ticket,
            garment__removed_at=None,
            removed_at=None,
            done_at=None,
            not_done_why="",
        )
        .select_related("garment", "gate", "cut_mark")
        .prefetch_related(waiting)
        .order_by("garment", "work_order", "pk")
    )


def _line_row(line: Line, fittings: list[Fitting], studio: Profile) -> LinePlan:
    gate = getattr(line, "gate", None)
    after = gate.fitting_id if gate else None
    mark, garment = getattr(line, "cut_mark", None), line.garment
    is_hem = line.work_order == WorkOrder.HEM
    unmarked = needs_cut_mark(
        is_hem, line.fitting_first, garment.heel_changed_at
    ) and not is_marked(mark and mark.at, garment.heel_changed_at)
    unknown = garment.heel_mm is None and not garment.heel_typed
    place, missing = _place(line, fittings)
    return LinePlan(
        line=line,
        wait=next(iter(line.waits.all()), None),
        choices=_choices(line, after, fittings, studio),
        unmarked=unmarked,
        needs_heel=unmarked and unknown,
        other_shoes=other_shoes(line.garment) if unmarked else "",
        after=place,
        wants_fitting=missing in {TO_BOOK, TO_MOVE},
    )


def _place(line: Line, fittings: list[Fitting]) -> tuple[Fitting | None, str]:
    """The fitting to come that an operation stands after, or what it lacks, as the week has it."""
    gate, mark = getattr(line, "gate", None), getattr(line, "cut_mark", None)
    by_key = {fitting.pk: fitting for fitting in fittings}
    after = by_key.get(gate.fitting_id) if gate else None
    row = LineRow(
        pk=line.pk,
        ticket=line.garment.ticket_id,
        garment=line.garment.letter,
        name=line.name,
        minutes=0,
        spent=None,
        order=line.work_order,
        is_hem=line.work_order == WorkOrder.HEM,
        fitting_first=line.fitting_first,
        before_fitting=line.fitting_place == FittingPlace.BEFORE,
        gate=after.pk if after else None,
        gate_fell_through=after is not None and after.state in FELL_THROUGH,
        gate_starts=after.starts_at if after else None,
        heel_changed=line.garment.heel_changed_at,
        marked_at=mark.at if mark else None,
        waits="",
        expected=None,
        question="",
        since=None,
        day=None,
        received=clock.now(),
        done_at=None,
    )
    rows = [
        FittingRow(
            fitting.pk,
            fitting.ticket_id,
            fitting.kind,
            fitting.starts_at,
            fitting.ends_at,
            fitting.state == Fitting.State.BOOKED,
            fitting.state in FELL_THROUGH,
        )
        for fitting in fittings
    ]
    to_come = [fitting for fitting in rows if fitting.booked and fitting.ends > clock.now()]
    work = work_of(row, rows, to_come)
    return (by_key[to_come[work.after - 1].pk] if work.after else None), work.waits


def _choices(
    line: Line, after: int | None, fittings: list[Fitting], studio: Profile
) -> list[tuple[str, str, bool]]:
    """The options of *after which fitting*: value, words, chosen. Empty without any fitting."""
    choices = [
        fitting
        for fitting in fittings
        if fitting.state == Fitting.State.BOOKED or fitting.pk == after
    ]
    if not choices:
        return []
    early = line.fitting_place == FittingPlace.BEFORE
    usual = "after the next fitting" if line.fitting_first else "after the first fitting"
    return [
        ("", usual, after is None and not early),
        (FittingPlace.BEFORE, "before the fitting", after is None and early),
        *(
            (str(fitting.pk), f"after: {fitting_words(fitting, studio)}", fitting.pk == after)
            for fitting in choices
        ),
    ]
