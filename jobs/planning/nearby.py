"""Which tickets a page about the coming days has to know operation by operation.

Earliest-due-first never takes up what is promised late while something promised sooner is open. So
what is planned until a day depends on the tickets promised first; of the others only minutes and
promises count, and they are lumped together. Where that could change an answer, nothing is lumped.
Only the short end of a bucket may stay empty that a small piece of far work would have filled.
"""

from collections.abc import Container, Sequence
from datetime import date
from itertools import accumulate, groupby
from operator import attrgetter

from jobs.planning.core import Stage
from jobs.planning.open_work import HELD, OpenTicket
from jobs.planning.plan.bench import Bench
from jobs.planning.plan.book import Book
from jobs.tickets.models import State

LATER = "~later"
"""Begins the ticket of a lump. It sorts behind numbers, so that it is taken up last on ties."""
SPARE = 120
"""Minutes beyond what the bench holds, since the short end of a bucket may skip to later work."""
PROMISE = attrgetter("promise_at")


def part(
    tickets: Sequence[OpenTicket], fitted: Container[int], bench: Bench, until: date
) -> tuple[list[OpenTicket], list[OpenTicket]]:
    """The tickets whose operations the plan may reach by ``until``, and those to be lumped.

    ``tickets`` are at the bench, in due order; ``fitted`` are the ids of those with fittings.
    Only plain tickets are lumped, and none when they might be late: late tickets are planned one
    by one. O(n).
    """
    held = list(accumulate(bench.capacity))
    wanted = _until(held, bench.last_of_day(until)) + SPARE
    near: list[OpenTicket] = []
    far: list[OpenTicket] = []
    certain = promised = 0
    for promise, group in groupby(tickets, key=PROMISE):
        plain: list[OpenTicket] = []
        other: list[OpenTicket] = []
        for ticket in group:
            promised += ticket.minutes
            (plain if is_plain(ticket, fitted) else other).append(ticket)
        near += other
        if certain < wanted:
            near += plain
            certain += sum(ticket.minutes for ticket in plain)
        elif promised > _until(held, bench.last_before(promise)):
            return list(tickets), []
        else:
            far += plain
    return near, far


def is_plain(ticket: OpenTicket, fitted: Container[int]) -> bool:
    """Nothing is sewn of it yet, so its minutes are those agreed, and it is not held up for long.

    Whether it waits until the day after the last one shown makes no difference: until then the
    bench is full of what is promised sooner.
    """
    return ticket.state == State.RECEIVED and ticket.held != HELD and ticket.pk not in fitted


def _until(held: Sequence[int], bucket: int) -> int:
    return held[bucket] if bucket >= 0 else 0


def lumps(far: Sequence[OpenTicket], bench: Bench) -> tuple[Stage, ...]:
    """One stage for each promise. ``far`` is in due order."""
    stages = []
    for place, (promise, group) in enumerate(groupby(far, key=PROMISE), 1):
        minutes, due = sum(ticket.minutes for ticket in group), bench.last_before(promise)
        stages.append(Stage(f"{LATER} {place}", f"{LATER} {place}", 0, minutes, 0, due))
    return tuple(stages)


def is_enough(book: Book, until: date) -> bool:
    """Whether the lumps are neither taken up by ``until`` nor late. O(pieces of the plan)."""
    due, last = {stage.id: stage.due for stage in book.lumps}, book.bench.last_of_day(until)
    return all(
        last < bucket <= due[stage]
        for bucket, pieces in enumerate(book.plan.days)
        for stage, _ in pieces
        if stage in due
    )
