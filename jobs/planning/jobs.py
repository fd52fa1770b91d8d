"""From rows of open tickets and operations to the jobs of the planner."""

import json
from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import lru_cache
from typing import Protocol

from jobs.planning.core import Ratio, median_remaining
from jobs.planning.models import FELL_THROUGH, Fitting, ReadyToCut, Wait
from jobs.planning.open_work import LineRow, OpenTicket, moment
from jobs.planning.plan.workload import FittingAt, Job, Work
from jobs.pricing.models import WorkOrder
from jobs.pricing.quote import Item, line_minutes
from jobs.tickets.models import Garment
from jobs.tickets.quoting import thaw_surcharge

TO_BOOK = "A fitting to be booked"
TO_MOVE = "A new day for the missed fitting"
TO_MARK = "The hem to be marked"


class Cuttable(Protocol):
    """What a ``Line`` and a ``LineRow`` have in common."""

    @property
    def fitting_first(self) -> bool: ...

    @property
    def work_order(self) -> int: ...

    @property
    def heel_changed(self) -> datetime | None: ...


def job_of(
    ticket: OpenTicket, lines: Iterable[LineRow], fittings: Sequence[Fitting], now: datetime
) -> Job:
    """One ticket with its open operations; ``fittings`` are its own, in order of time."""
    to_come = [one for one in fittings if one.state == Fitting.State.BOOKED and one.ends_at > now]
    return Job(
        ticket=ticket.number,
        client=ticket.client,
        promise_at=ticket.promise_at,
        works=tuple(work_of(line, fittings, to_come) for line in lines),
        fittings=tuple(
            FittingAt(one.starts_at, one.ends_at, Fitting.Kind(one.kind).label, one.pk)
            for one in to_come
        ),
    )


def work_of(line: LineRow, fittings: Sequence[Fitting], to_come: Sequence[Fitting]) -> Work:
    """One operation with its place among the fittings and what it waits for since when."""
    after, waits, since = _gate(line, fittings, to_come)
    if line.wait:
        waits, since = Wait.What(line.wait).label, line.since
    return Work(
        line=line.pk,
        garment=line.garment,
        name=line.name,
        minutes=minutes_left(line.minutes_each, line.quantity, line.surcharges, line.spent or 0),
        order=line.work_order,
        after=after,
        waits=waits,
        expected=line.wait_until,
        question=line.question or "",
        since=since,
    )


@lru_cache(maxsize=4096)
def minutes_left(each: int, quantity: int, surcharges: str, spent: int) -> int:
    """Bench minutes of a line that are still to be sewn, its frozen surcharges included.

    The price list has few combinations, so they are kept.
    """
    extra = tuple(thaw_surcharge(facts) for facts in json.loads(surcharges))
    agreed = line_minutes(Item("", "", 0, quantity, each, extra))
    return median_remaining(agreed, Ratio(), spent)


def needs_cut_mark(line: Cuttable) -> bool:
    """Whether this is cut only once it was marked in the event shoes.

    So is a hem that waits for a fitting, and any whose shoes turned out to be others.
    """
    asks = line.fitting_first or line.heel_changed is not None
    return asks and line.work_order == WorkOrder.HEM


def marked(mark: ReadyToCut | None, garment: Garment) -> bool:
    """Whether the hem was marked in the shoes it is worn with; see ``jobs.tickets.heels``."""
    if mark is None:
        return False
    return garment.heel_changed_at is None or mark.at >= garment.heel_changed_at


def _gate(
    line: LineRow, fittings: Sequence[Fitting], to_come: Sequence[Fitting]
) -> tuple[int, str, datetime | None]:
    """How many fittings to come stand before the work; what is missing if none can, since when."""
    if line.gate is not None:
        place = next((n for n, one in enumerate(to_come, 1) if one.pk == line.gate), 0)
    else:
        place = 1 if line.fitting_first and to_come else 0
    if place:
        return place, "", None
    if line.gate is None and not line.fitting_first:
        unmarked = needs_cut_mark(line) and line.cut_mark is None
        return (0, TO_MARK, line.heel_changed) if unmarked else (0, "", None)
    return 0, *_missing(line, fittings)


def _missing(line: LineRow, fittings: Sequence[Fitting]) -> tuple[str, datetime | None]:
    """What a line that no coming fitting holds up still lacks; empty when it can be sewn."""
    if line.gate is not None:
        state, last = line.gate_state, line.gate_starts
    elif fittings:
        state, last = fittings[-1].state, fittings[-1].starts_at
    else:
        return TO_BOOK, moment(line.received)
    if state in FELL_THROUGH:
        return TO_MOVE, last
    if needs_cut_mark(line) and line.cut_mark is None:
        return TO_MARK, last
    return "", None
