"""Open tickets and their operations as plain rows: what the planner reads, and no more."""

from collections.abc import Collection
from datetime import date, datetime
from operator import attrgetter
from typing import Any, NamedTuple

from django.db.models import Exists, F, FilteredRelation, OuterRef, Q, QuerySet, Subquery, Sum

from jobs.planning.models import BenchTime
from jobs.tickets.models import Line, State, Ticket


class OpenTicket(NamedTuple):
    """A ticket whose garments are here, or that became ready since a moment.

    ``minutes`` are those agreed for the whole ticket. ``held`` says that an operation of it is
    held up or left undone, so that only its operations tell what is still to be sewn.
    """

    pk: int
    number: str
    client: str
    state: str
    promise_at: datetime
    minutes: int
    held: bool = True

    @property
    def at_the_bench(self) -> bool:
        return self.state in {State.RECEIVED, State.IN_WORK}


class LineRow(NamedTuple):
    """An operation with what holds it up: the fitting before it, a wait, a hem not marked.

    ``spent`` is minutes already sewn, None when nobody has timed it. ``gate`` is the fitting it
    comes after.
    """

    pk: int
    ticket: int
    garment: str
    name: str
    minutes_each: int
    quantity: int
    surcharges: list[dict[str, Any]]
    work_order: int
    fitting_first: bool
    gate: int | None
    gate_state: str | None
    gate_starts: datetime | None
    cut_mark: int | None
    wait: str | None
    wait_until: date | None
    question: str | None
    since: datetime | None
    received_at: datetime
    done_at: datetime | None
    spent: int | None


COLUMNS = (
    "pk",
    "garment__ticket_id",
    "garment__letter",
    "name",
    "minutes_each",
    "quantity",
    "surcharges",
    "work_order",
    "fitting_first",
    "gate__fitting_id",
    "gate__fitting__state",
    "gate__fitting__starts_at",
    "cut_mark",
    "waiting__what",
    "waiting__expected",
    "waiting__question",
    "waiting__since",
    "garment__ticket__received_at",
    "done_at",
    "spent",
)
ON_TICKET = Q(removed_at=None, garment__removed_at=None)
OPEN = Q(done_at=None, not_done_why="")


def ticket_row(ticket: Ticket) -> OpenTicket:
    """One ticket that is at hand already."""
    return OpenTicket(
        ticket.pk,
        ticket.number,
        ticket.client.name,
        ticket.state,
        ticket.promise_at,
        ticket.minutes,
    )


def tickets_here(ready_since: datetime) -> QuerySet[Ticket]:
    """The open tickets and those that became ready since then, without an order."""
    here = Q(state__in=State.open()) | Q(ready_at__gte=ready_since)
    return Ticket.objects.filter(here).exclude(state=State.CANCELLED).order_by()


def read_tickets(ready_since: datetime) -> list[OpenTicket]:
    """``tickets_here`` in due order, in one query."""
    held = (
        Line.objects.filter(ON_TICKET, garment__ticket=OuterRef("pk"))
        .annotate(waiting=open_wait())
        .filter(
            Q(fitting_first=True)
            | ~Q(not_done_why="")
            | Q(gate__isnull=False)
            | Q(waiting__isnull=False)
        )
    )
    # Put in order here: asked for the order, SQLite walks through the promises of all years.
    rows = tickets_here(ready_since).annotate(client_name=F("client__name"), held=Exists(held))
    names = [name if name != "client" else "client_name" for name in OpenTicket._fields]
    tickets = [OpenTicket(*row) for row in rows.values_list(*names)]
    return sorted(tickets, key=attrgetter("promise_at", "number"))


def open_wait() -> FilteredRelation:
    """The one wait of an operation that has not ended."""
    return FilteredRelation("waits", condition=Q(waits__ended_at=None))


def read_lines(tickets: Collection[int], *, done_since: datetime | None = None) -> list[LineRow]:
    """Operations of these tickets that are still to be done, in due order. One query.

    With ``done_since`` also those that were done since then.
    """
    wanted = OPEN | Q(done_at__gte=done_since) if done_since else OPEN
    spent = (
        BenchTime.objects.filter(line=OuterRef("pk"))
        .order_by()
        .values("line")
        .annotate(total=Sum("minutes"))
        .values("total")
    )
    lines = (
        Line.objects.filter(ON_TICKET, wanted, garment__ticket__in=tickets)
        .annotate(waiting=open_wait(), spent=Subquery(spent))
        .order_by("garment__ticket__promise_at", "garment__ticket__number", "work_order", "pk")
    )
    return [LineRow(*row) for row in lines.values_list(*COLUMNS)]
