"""From plain rows of tickets, operations and fittings to the jobs of the planner."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import NamedTuple

from jobs.planning.plan.workload import FittingAt, Job, Work

TO_BOOK = "A fitting to be booked"
TO_MOVE = "A new day for the missed fitting"
TO_MARK = "The hem to be marked"


class OpenTicket(NamedTuple):
    """A ticket whose garments are here, or that became ready since a moment."""

    pk: int
    number: str
    client: str
    promise_at: datetime
    at_the_bench: bool
    ready: bool


class FittingRow(NamedTuple):
    """A fitting of the ticket with that key. One that neither is booked nor fell through was kept.

    ``fell_through`` says that it was missed or cancelled: the work after it needs another one.
    """

    pk: int
    ticket: int
    kind: str
    starts: datetime
    ends: datetime
    booked: bool
    fell_through: bool

    @property
    def minutes(self) -> int:
        return int((self.ends - self.starts).total_seconds()) // 60

    @property
    def kept(self) -> bool:
        return not (self.booked or self.fell_through)


class LineRow(NamedTuple):
    """An operation with what holds it up: the fitting before it, a wait, a hem not marked.

    ``minutes`` are still to be sewn, ``spent`` those sewn already, None when nobody has timed it.
    ``gate`` is the fitting it comes after, ``waits`` what it waits for in words, "" when it does
    not. ``heel_changed`` is when other shoes turned up, ``marked_at`` when the hem was marked.
    """

    pk: int
    ticket: int
    garment: str
    name: str
    minutes: int
    spent: int | None
    order: int
    is_hem: bool
    fitting_first: bool
    gate: int | None
    gate_fell_through: bool
    gate_starts: datetime | None
    heel_changed: datetime | None
    marked_at: datetime | None
    waits: str
    expected: date | None
    question: str
    since: datetime | None
    received: datetime
    done_at: datetime | None

    @property
    def to_mark(self) -> bool:
        """Whether this hem still has to be marked in the shoes it is worn with."""
        asks = needs_cut_mark(self.is_hem, self.fitting_first, self.heel_changed)
        return asks and not is_marked(self.marked_at, self.heel_changed)


def needs_cut_mark(is_hem: bool, fitting_first: bool, heel_changed: datetime | None) -> bool:
    """Whether this is cut only once it was marked in the event shoes.

    So is a hem that waits for a fitting, and any whose shoes turned out to be others.
    """
    return is_hem and (fitting_first or heel_changed is not None)


def is_marked(marked_at: datetime | None, heel_changed: datetime | None) -> bool:
    """Whether the hem was marked in the shoes it is worn with."""
    return marked_at is not None and (heel_changed is None or marked_at >= heel_changed)


def job_of(
    ticket: OpenTicket, lines: Iterable[LineRow], fittings: Sequence[FittingRow], now: datetime
) -> Job:
    """One ticket with its open operations; ``fittings`` are its own, in order of time."""
    to_come = [fitting for fitting in fittings if fitting.booked and fitting.ends > now]
    return Job(
        ticket=ticket.number,
        client=ticket.client,
        promise_at=ticket.promise_at,
        works=tuple(work_of(line, fittings, to_come) for line in lines),
        fittings=tuple(
            FittingAt(fitting.starts, fitting.ends, fitting.kind, fitting.pk) for fitting in to_come
        ),
    )


def work_of(line: LineRow, fittings: Sequence[FittingRow], to_come: Sequence[FittingRow]) -> Work:
    """One operation with its place among the fittings and what it waits for since when."""
    after, waits, since = _gate(line, fittings, to_come)
    if line.waits:
        waits, since = line.waits, line.since
    return Work(
        line=line.pk,
        garment=line.garment,
        name=line.name,
        minutes=line.minutes,
        order=line.order,
        after=after,
        waits=waits,
        expected=line.expected,
        question=line.question,
        since=since,
    )


def _gate(
    line: LineRow, fittings: Sequence[FittingRow], to_come: Sequence[FittingRow]
) -> tuple[int, str, datetime | None]:
    """How many fittings to come stand before the work; what is missing if none can, since when."""
    if line.gate is not None:
        place = next((n for n, fitting in enumerate(to_come, 1) if fitting.pk == line.gate), 0)
    else:
        place = 1 if line.fitting_first and to_come else 0
    if place:
        return place, "", None
    if line.gate is None and not line.fitting_first:
        return (0, TO_MARK, line.heel_changed) if line.to_mark else (0, "", None)
    return 0, *_missing(line, fittings)


def _missing(line: LineRow, fittings: Sequence[FittingRow]) -> tuple[str, datetime | None]:
    """What a line that no coming fitting holds up still lacks; empty when it can be sewn."""
    if line.gate is not None:
        fell_through, last = line.gate_fell_through, line.gate_starts
    elif fittings:
        fell_through, last = fittings[-1].fell_through, fittings[-1].starts
    else:
        return TO_BOOK, line.received
    if fell_through:
        return TO_MOVE, last
    return (TO_MARK, last) if line.to_mark else ("", None)
