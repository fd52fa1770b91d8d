"""A ticket's way over the bench and back to the client."""

from collections.abc import Iterable

from django.db import transaction

from jobs.tickets.actions.locking import locked
from jobs.tickets.errors import TicketError
from jobs.tickets.history import record, snapshot
from jobs.tickets.models import Garment, Line, State, Ticket
from studio.shop import clock
from studio.shop.models import User


@transaction.atomic
def start(*, ticket: Ticket, by: User) -> Ticket:
    """Work begins. Starting again changes nothing."""
    ticket = locked(ticket)
    _must_be_open(ticket)
    if ticket.state == State.RECEIVED:
        before = snapshot(ticket)
        _to_the_bench(ticket)
        record(ticket, by, "Work started.", before=before)
    return ticket


@transaction.atomic
def tick(*, line: Line, by: User) -> Ticket:
    """The operation is done."""
    ticket, line = _line(line)
    if line.done_at is None:
        before = snapshot(ticket)
        _to_the_bench(ticket)
        line.done_at, line.done_by, line.not_done_why = clock.now(), by, ""
        line.save(update_fields=["done_at", "done_by", "not_done_why"])
        record(ticket, by, f"Done: {line.garment.letter} {line.name}.", before=before)
    return ticket


@transaction.atomic
def untick(*, line: Line, by: User) -> Ticket:
    """Not done after all. A ready ticket goes back to the bench."""
    ticket, line = _line(line)
    if line.done_at is not None:
        before = snapshot(ticket)
        line.done_at = line.done_by = None
        line.save(update_fields=["done_at", "done_by"])
        _back_to_the_bench(ticket)
        record(ticket, by, f"Not done after all: {line.garment.letter} {line.name}.", before=before)
    return ticket


@transaction.atomic
def tick_all(*, ticket: Ticket, by: User) -> Ticket:
    """Every open operation is done."""
    ticket = locked(ticket)
    _must_be_open(ticket)
    undone = open_lines(ticket)
    if undone:
        before = snapshot(ticket)
        _to_the_bench(ticket)
        for line in undone:
            line.done_at, line.done_by = clock.now(), by
            line.save(update_fields=["done_at", "done_by"])
        record(ticket, by, f"Done: all {len(undone)} open operations.", before=before)
    return ticket


@transaction.atomic
def why_not_done(*, line: Line, why: str, by: User) -> Ticket:
    """The operation will not be done, and this is why."""
    ticket, line = _line(line)
    why = why.strip()
    if not why:
        raise TicketError("Say why it was not done.")
    before = snapshot(ticket)
    line.not_done_why, line.done_at, line.done_by = why[:200], None, None
    line.save(update_fields=["not_done_why", "done_at", "done_by"])
    record(ticket, by, f"Not done: {line.garment.letter} {line.name} ({why}).", before=before)
    return ticket


@transaction.atomic
def mark_ready(*, ticket: Ticket, by: User) -> Ticket:
    """Every operation is done or says why not: the client may come."""
    ticket = locked(ticket)
    if ticket.state == State.READY:
        return ticket
    _must_be_open(ticket)
    if undone := open_lines(ticket):
        names = ", ".join(f"{line.garment.letter} {line.name}" for line in undone)
        raise TicketError(f"Still open: {names}. Tick it or say why it was not done.")
    before = snapshot(ticket)
    ticket.state, ticket.ready_at = State.READY, clock.now()
    ticket.save(update_fields=["state", "ready_at"])
    record(ticket, by, "Ready to be collected.", before=before)
    return ticket


@transaction.atomic
def hand_over(
    *, ticket: Ticket, garments: Iterable[Garment], tried_on: Iterable[Garment], by: User
) -> Ticket:
    """These garments leave with the client; with the last one the ticket is collected.

    Money is not this room's business: the pick-up page sees to the balance first.
    """
    ticket = locked(ticket)
    leaving = {garment.pk for garment in garments}
    here = ticket.garments.filter(removed_at=None, handed_over_at=None)
    going = [garment for garment in here if garment.pk in leaving]
    if ticket.state == State.COLLECTED or not going:
        return ticket
    _must_be_open(ticket)
    if undone := [line for line in open_lines(ticket) if line.garment_id in leaving]:
        names = ", ".join(f"{line.garment.letter} {line.name}" for line in undone)
        raise TicketError(f"Still open: {names}. Tick it or say why it was not done.")
    before = snapshot(ticket)
    worn = {garment.pk for garment in tried_on}
    for garment in going:
        garment.handed_over_at, garment.tried_on = clock.now(), garment.pk in worn
        garment.save(update_fields=["handed_over_at", "tried_on"])
    letters = ", ".join(garment.letter for garment in going)
    if len(going) == len(here):
        ticket.state, ticket.collected_at = State.COLLECTED, clock.now()
        ticket.ready_at = ticket.ready_at or ticket.collected_at
        ticket.save(update_fields=["state", "collected_at", "ready_at"])
    record(ticket, by, f"Handed over: {letters}.", before=before)
    return ticket


@transaction.atomic
def cancel(*, ticket: Ticket, why: str, by: User) -> Ticket:
    """The ticket will not be worked on. It keeps its number and its history."""
    ticket = locked(ticket)
    if ticket.state == State.CANCELLED:
        return ticket
    _must_be_open(ticket)
    why = why.strip()
    if not why:
        raise TicketError("Say why the ticket is cancelled.")
    before = snapshot(ticket)
    ticket.state, ticket.cancelled_at, ticket.cancelled_why = (
        State.CANCELLED,
        clock.now(),
        why[:200],
    )
    ticket.save(update_fields=["state", "cancelled_at", "cancelled_why"])
    record(ticket, by, f"Cancelled: {why}.", before=before)
    return ticket


def open_lines(ticket: Ticket) -> list[Line]:
    """Operations that are neither done nor excused, in the order of the garments."""
    lines = Line.objects.filter(
        garment__ticket=ticket, garment__removed_at=None, removed_at=None,
        done_at=None, not_done_why="",
    )  # fmt: skip
    return list(lines.select_related("garment").order_by("garment", "work_order", "pk"))


def _line(line: Line) -> tuple[Ticket, Line]:
    ticket = locked(line.garment.ticket)
    _must_be_open(ticket)
    line = Line.objects.select_related("garment").get(pk=line.pk)
    if line.removed_at:
        raise TicketError("This operation was taken off the ticket.")
    return ticket, line


def _to_the_bench(ticket: Ticket) -> None:
    if ticket.state == State.RECEIVED:
        ticket.state, ticket.started_at = State.IN_WORK, clock.now()
        ticket.save(update_fields=["state", "started_at"])


def _back_to_the_bench(ticket: Ticket) -> None:
    if ticket.state == State.READY:
        ticket.state, ticket.ready_at = State.IN_WORK, None
        ticket.save(update_fields=["state", "ready_at"])


def _must_be_open(ticket: Ticket) -> None:
    if not ticket.is_open:
        state = ticket.get_state_display().lower()
        raise TicketError(f"Ticket {ticket.number} is {state}. Undo that step first.")
