"""Open tickets and their operations as plain rows: what the planner reads, and no more."""

from collections.abc import Collection
from datetime import UTC, date, datetime
from functools import lru_cache
from operator import attrgetter
from typing import NamedTuple

from django.db.models import (
    Case,
    CharField,
    F,
    FilteredRelation,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    TextField,
    When,
)
from django.db.models.functions import Cast

from jobs.planning.models import BenchTime, Wait
from jobs.tickets.models import Line, State, Ticket

FREE, ASKED, HELD = 0, 1, 2
"""Whether something holds a ticket up: nothing, an answer that may come any day, or more."""
AT_THE_BENCH = frozenset([State.RECEIVED.value, State.IN_WORK.value])


class OpenTicket(NamedTuple):
    """A ticket whose garments are here, or that became ready since a moment.

    ``minutes`` are those agreed for the whole ticket; of a ``held`` one (`FREE`, `ASKED`, `HELD`)
    only its operations tell what is still to be sewn, and when.
    """

    pk: int
    number: str
    client: str
    state: str
    promise_at: datetime
    minutes: int
    held: int = HELD

    @property
    def at_the_bench(self) -> bool:
        return self.state in AT_THE_BENCH


class LineRow(NamedTuple):
    """An operation with what holds it up: the fitting before it, a wait, a hem not marked.

    ``spent`` is minutes already sewn, None when nobody has timed it. ``gate`` is the fitting it
    comes after. ``cut_mark`` is None for a mark from before the heel height changed. ``surcharges``
    are the frozen ones as JSON text, ``received`` is for `moment`.
    """

    pk: int
    ticket: int
    garment: str
    name: str
    minutes_each: int
    quantity: int
    surcharges: str
    work_order: int
    fitting_first: bool
    gate: int | None
    gate_state: str | None
    gate_starts: datetime | None
    heel_changed: datetime | None
    cut_mark: int | None
    wait: str | None
    wait_until: date | None
    question: str | None
    since: datetime | None
    received: str
    done_at: datetime | None
    spent: int | None


COLUMNS = (
    "pk",
    "garment__ticket_id",
    "garment__letter",
    "name",
    "minutes_each",
    "quantity",
    "extra",
    "work_order",
    "fitting_first",
    "gate__fitting_id",
    "gate__fitting__state",
    "gate__fitting__starts_at",
    "garment__heel_changed_at",
    "marked",
    "waiting__what",
    "waiting__expected",
    "waiting__question",
    "waiting__since",
    "received",
    "done_at",
    "spent",
)


def as_text(name: str) -> Cast:
    """A moment of the database as text, to be read by `moment`.

    Many tickets have few promises, and turning the database's answer into moments one by one takes
    as long as all the rest of the question.
    """
    return Cast(name, CharField())


@lru_cache(maxsize=4096)
def moment(text: str) -> datetime:
    """What ``as_text`` gave, in UTC. PostgreSQL says so itself, SQLite does not."""
    found = datetime.fromisoformat(text)
    return found.replace(tzinfo=UTC) if found.tzinfo is None else found.astimezone(UTC)


EXTRA = Cast("surcharges", TextField())
MARKED = Case(
    When(
        Q(garment__heel_changed_at=None) | Q(cut_mark__at__gte=F("garment__heel_changed_at")),
        then=F("cut_mark"),
    )
)
"""The mark of a hem, if it was made in the shoes it is worn with."""
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


def read_tickets(ready_since: datetime, soon: date) -> list[OpenTicket]:
    """``tickets_here`` in due order, in one query.

    What waits for something that is expected after ``soon`` is held, and so is what waits for a
    fitting or is left undone, and what may have to be marked in other shoes.
    """
    at_work = Line.objects.filter(ON_TICKET, garment__ticket__state__in=AT_THE_BENCH).order_by()
    other_shoes = Q(garment__heel_changed_at__isnull=False)
    undone = at_work.filter(Q(fitting_first=True) | other_shoes | ~Q(not_done_why=""))
    waits = Wait.objects.filter(ended_at=None).order_by()
    held = Case(
        When(pk__in=undone.values("garment__ticket"), then=HELD),
        When(pk__in=waits.filter(expected__gt=soon).values("line__garment__ticket"), then=HELD),
        When(pk__in=waits.values("line__garment__ticket"), then=ASKED),
        default=FREE,
    )
    rows = tickets_here(ready_since).annotate(
        client_name=F("client__name"), promise=as_text("promise_at"), held=held
    )
    names = ["pk", "number", "client_name", "state", "promise", "minutes", "held"]
    tickets = [
        OpenTicket(pk, number, client, state, moment(promise), minutes, held)
        for pk, number, client, state, promise, minutes, held in rows.values_list(*names)
    ]
    # Put in order here: asked for the order, SQLite walks through the promises of all years.
    return sorted(tickets, key=attrgetter("promise_at"))


def open_wait() -> FilteredRelation:
    """The one wait of an operation that has not ended."""
    return FilteredRelation("waits", condition=Q(waits__ended_at=None))


def read_lines(
    tickets: Collection[int],
    *,
    held_of: Collection[int] = (),
    done_since: datetime | None = None,
) -> list[LineRow]:
    """Operations of these tickets that are still to be done, in the order of work. One query.

    Of the tickets ``held_of`` only those that wait. With ``done_since`` also what was done since
    then.
    """
    open_or_new = OPEN | Q(done_at__gte=done_since) if done_since else OPEN
    wanted = Q(garment__ticket__in=tickets) & open_or_new
    if held_of:
        wanted |= Q(garment__ticket__in=held_of, waiting__isnull=False) & OPEN
    spent = (
        BenchTime.objects.filter(line=OuterRef("pk"))
        .order_by()
        .values("line")
        .annotate(total=Sum("minutes"))
        .values("total")
    )
    lines = (
        Line.objects.annotate(
            waiting=open_wait(),
            spent=Subquery(spent),
            extra=EXTRA,
            marked=MARKED,
            received=as_text("garment__ticket__received_at"),
        )
        .filter(ON_TICKET, wanted)
        .order_by("work_order", "pk")
    )
    return list(map(LineRow._make, lines.values_list(*COLUMNS)))
