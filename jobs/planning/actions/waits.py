"""Work that waits: for the client, for a zip, for washing. The promise waits with it."""

from datetime import date, timedelta

from django.db import transaction

from jobs.planning.errors import PlanError
from jobs.planning.models import Wait
from jobs.planning.reading import read_shop
from jobs.tickets import actions as tickets
from jobs.tickets.actions.locking import locked
from jobs.tickets.history import record
from jobs.tickets.models import Line, Ticket
from studio.shop import clock
from studio.shop.models import Profile, User


@transaction.atomic
def hold(*, line: Line, what: str, question: str, expected: date | None, by: User) -> Wait:
    """The operation cannot go on. Holding it again changes nothing.

    Raises PlanError when it is done, off the ticket, or what it waits for is not said.
    """
    ticket = locked(line.garment.ticket)
    line = Line.objects.select_related("garment").get(pk=line.pk)
    if waiting := line.waits.filter(ended_at=None).first():
        return waiting
    if what not in Wait.What.values:
        raise PlanError("Say what it waits for.")
    if line.done_at or line.removed_at or not ticket.is_open:
        raise PlanError("This operation is no longer open.")
    wait = Wait.objects.create(
        line=line, what=what, question=question.strip(), since=clock.now(), expected=expected, by=by
    )
    asked = f" ({wait.question})" if wait.question else ""
    name = f"{line.garment.letter} {line.name}"
    record(ticket, by, f"{name} waits for {wait.get_what_display().lower()}{asked}.")
    return wait


@transaction.atomic
def end_wait(*, wait: Wait, studio: Profile, by: User) -> Ticket:
    """The work can go on; the promise moves by the days it waited, and the agreement says why.

    Days on which several operations of the ticket waited at once move the promise once. The new
    day is the first open one. Ending it twice changes nothing.
    """
    ticket = locked(wait.line.garment.ticket)
    wait = Wait.objects.select_related("line__garment").get(pk=wait.pk)
    if wait.ended_at:
        return ticket
    wait.ended_at = clock.now()
    wait.save(update_fields=["ended_at"])
    what = wait.get_what_display().lower()
    name = f"{wait.line.garment.letter} {wait.line.name}"
    record(ticket, by, f"{name} goes on: {what} is here.")
    days = _days_alone(wait)
    if not days or not ticket.is_open:
        return ticket
    day = _first_open(clock.local(ticket.promise_at).date() + timedelta(days=days))
    return tickets.move_promise(
        ticket=ticket,
        promise_at=clock.at(day, clock.local(ticket.promise_at).time()),
        studio=studio,
        by=by,
        reason=f"waited {days} day{'s' if days != 1 else ''} for {what}",
    )


def _first_open(day: date) -> date:
    """The day itself or the next one that is open; the day itself in a studio without hours."""
    shop, year = read_shop(), range(366)
    days = (day + timedelta(days=ahead) for ahead in year)
    return next(filter(shop.is_open, days), day)


def _days_alone(wait: Wait) -> int:
    """Whole local days this wait held the ticket and no other wait of it already counted."""
    mine = _days(wait)
    others = Wait.objects.filter(line__garment__ticket=wait.line.garment.ticket_id)
    for other in others.exclude(pk=wait.pk).exclude(ended_at=None):
        mine -= _days(other)
    return len(mine)


def _days(wait: Wait) -> set[date]:
    """The local days begun while it waited; the day on which the wait began is not one."""
    first = clock.local(wait.since).date()
    last = clock.local(wait.ended_at or clock.now()).date()
    return {first + timedelta(days=ahead) for ahead in range(1, (last - first).days + 1)}
