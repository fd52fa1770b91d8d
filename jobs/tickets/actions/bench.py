"""A ticket's way over the bench and back to the client."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import transaction

from jobs.tickets import verbs
from jobs.tickets.actions.agree import lapse_question
from jobs.tickets.actions.lock import TicketError, locked
from jobs.tickets.models import Garment, Line, State, Ticket
from studio.shop import clock
from studio.shop.history import HistoryError, Step, Verb, of, record, undoable
from studio.shop.history import undo as take_back
from studio.shop.models import Entry, User


def start(*, ticket: Ticket, by: User) -> Ticket:
    """Work begins. Starting again changes nothing."""
    with record(verbs.STARTED, about=ticket, by=by) as step:
        ticket = _open(ticket)
        step.keep(ticket)
        _to_the_bench(ticket)
    return ticket


def tick(*, line: Line, by: User) -> Ticket:
    """The operation is done."""
    with _of_line(verbs.DONE, line, by) as (step, ticket, held):
        if held.done_at is None:
            step.keep(ticket, held)
            _to_the_bench(ticket)
            held.done_at, held.done_by, held.not_done_why = clock.now(), by, ""
            held.save(update_fields=["done_at", "done_by", "not_done_why"])
    return ticket


def untick(*, line: Line, by: User) -> Ticket:
    """Not done after all. A ready ticket goes back to the bench."""
    with _of_line(verbs.NOT_DONE_AFTER_ALL, line, by) as (step, ticket, held):
        if held.done_at is not None:
            step.keep(ticket, held)
            held.done_at = held.done_by = None
            held.save(update_fields=["done_at", "done_by"])
            _back_to_the_bench(ticket)
    return ticket


def tick_all(*, ticket: Ticket, by: User) -> Ticket:
    """Every open operation is done."""
    with record(verbs.ALL_DONE, about=ticket, by=by) as step:
        ticket = _open(ticket)
        if lines := open_lines(ticket):
            step.parameters["count"] = len(lines)
            step.keep(ticket, *lines)
            _to_the_bench(ticket)
            for line in lines:
                line.done_at, line.done_by = clock.now(), by
                line.save(update_fields=["done_at", "done_by"])
    return ticket


def why_not_done(*, line: Line, why: str, by: User) -> Ticket:
    """The operation will not be done, and this is why."""
    with _of_line(verbs.NOT_DONE, line, by, why=why.strip()) as (step, ticket, held):
        if not why.strip():
            raise TicketError("Say why it was not done.")
        step.keep(held)
        held.not_done_why, held.done_at, held.done_by = why.strip()[:200], None, None
        held.save(update_fields=["not_done_why", "done_at", "done_by"])
    return ticket


def mark_ready(*, ticket: Ticket, by: User) -> Ticket:
    """Every operation is done or says why not: the client may come."""
    with record(verbs.READY, about=ticket, by=by) as step:
        ticket = locked(ticket)
        if ticket.state == State.READY:
            return ticket
        _must_be_open(ticket)
        _must_be_done(open_lines(ticket))
        step.keep(ticket)
        ticket.state, ticket.ready_at = State.READY, clock.now()
        ticket.save(update_fields=["state", "ready_at"])
    return ticket


def hand_over(
    *, ticket: Ticket, garments: Iterable[Garment], tried_on: Iterable[Garment], by: User
) -> Ticket:
    """These garments leave with the client; with the last one the ticket is collected.

    Money is not this room's business: the pick-up page sees to the balance first.
    """
    leaving = {garment.pk for garment in garments}
    worn = {garment.pk for garment in tried_on}
    with record(verbs.HANDED_OVER, about=ticket, by=by) as step:
        ticket = locked(ticket)
        here = ticket.garments.filter(removed_at=None, handed_over_at=None)
        going = [garment for garment in here if garment.pk in leaving]
        if ticket.state == State.COLLECTED or not going:
            return ticket
        _must_be_open(ticket)
        _must_be_done([line for line in open_lines(ticket) if line.garment_id in leaving])
        step.parameters["letters"] = [garment.letter for garment in going]
        step.keep(ticket, *going)
        last = len(going) == len(here)
        for garment in going:
            garment.handed_over_at, garment.tried_on = clock.now(), garment.pk in worn
            garment.save(update_fields=["handed_over_at", "tried_on"])
        if last:
            ticket.state, ticket.collected_at = State.COLLECTED, clock.now()
            ticket.ready_at = ticket.ready_at or ticket.collected_at
            ticket.save(update_fields=["state", "collected_at", "ready_at"])
            lapse_question(ticket, step, by)
    return ticket


def cancel(*, ticket: Ticket, why: str, by: User, leaves: bool = False) -> Ticket:
    """The ticket will not be worked on. It keeps its number and its history.

    What is here of it stays so until it is handed back, unless it ``leaves`` at once.
    """
    why = why.strip()
    with record(verbs.CANCELLED, about=ticket, by=by, why=why) as step:
        ticket = locked(ticket)
        if ticket.state == State.CANCELLED:
            return ticket
        _must_be_open(ticket)
        if not why:
            raise TicketError("Say why the ticket is cancelled.")
        step.keep(ticket)
        ticket.state, ticket.cancelled_at = State.CANCELLED, clock.now()
        ticket.cancelled_why = why[:200]
        ticket.save(update_fields=["state", "cancelled_at", "cancelled_why"])
        lapse_question(ticket, step, by)
        if leaves:
            _leave(step, ticket.garments.filter(removed_at=None, handed_over_at=None))
    return ticket


def hand_back(*, ticket: Ticket, by: User) -> Ticket:
    """What is still here of a cancelled ticket leaves as it is. Again changes nothing."""
    with record(verbs.HANDED_BACK, about=ticket, by=by) as step:
        ticket = locked(ticket)
        if ticket.state != State.CANCELLED:
            raise TicketError("Only what was cancelled is handed back: hand it over instead.")
        _leave(step, ticket.garments.filter(removed_at=None, handed_over_at=None))
    return ticket


def _leave(step: Step, garments: Iterable[Garment]) -> None:
    going = list(garments)
    step.parameters["letters"] = [garment.letter for garment in going]
    step.keep(*going)
    for garment in going:
        garment.handed_over_at = clock.now()
        garment.save(update_fields=["handed_over_at"])


@transaction.atomic
def undo(*, ticket: Ticket, entry: Entry, by: User) -> Ticket:
    """Take back the last step of the ticket, which the page offered. Twice is once.

    Raises TicketError where another step came after it, or with the reason why not.
    """
    ticket = locked(ticket)
    entry = Entry.objects.get(pk=entry.pk)
    if entry.undone_at:
        return ticket
    if undoable(of(ticket), by) != entry:
        raise TicketError("That was not the last step any more. Look at the history first.")
    try:
        take_back(entry=entry, by=by)
    except HistoryError as wrong:
        raise TicketError(str(wrong)) from wrong
    return locked(ticket)


def open_lines(ticket: Ticket) -> list[Line]:
    """Operations that are neither done nor excused, in the order of the garments."""
    lines = Line.objects.filter(
        garment__ticket=ticket, garment__removed_at=None, removed_at=None,
        done_at=None, not_done_why="",
    )  # fmt: skip
    return list(lines.select_related("garment").order_by("garment", "work_order", "pk"))


@contextmanager
def _of_line(
    verb: Verb, line: Line, by: User, **parameters: Any
) -> Iterator[tuple[Step, Ticket, Line]]:
    ticket = line.garment.ticket
    with record(verb, about=ticket, by=by, **parameters) as step:
        ticket = _open(ticket)
        line = Line.objects.select_related("garment").get(pk=line.pk)
        if line.removed_at:
            raise TicketError("This operation was removed from the ticket.")
        step.parameters |= {"letter": line.garment.letter, "name": line.name}
        yield step, ticket, line


def _open(ticket: Ticket) -> Ticket:
    ticket = locked(ticket)
    _must_be_open(ticket)
    return ticket


def _must_be_done(lines: list[Line]) -> None:
    if lines:
        names = ", ".join(f"{line.garment.letter} {line.name}" for line in lines)
        raise TicketError(f"Still open: {names}. Tick it or say why it was not done.")


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
