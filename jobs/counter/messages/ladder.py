"""Garments that are not collected: after how many days what is done, by the studio's own periods.

The program only says what is due and writes it; it disposes of nothing. What a studio may do with
what stays, and after which notices, is for the law of the place to say (some laws want a written
notice first and name its contents, see docs/messages.md).
"""

from collections.abc import Iterable
from dataclasses import dataclass

from jobs.billing.queries import age_in_days
from jobs.tickets.models import MessageKind, SentMessage, State, Ticket
from studio.shop.models import Profile

MOST_RUNGS = 6
LONGEST = 3650
MESSAGE, NOTICE = "message", "notice"
HOW = [(MESSAGE, "Message"), (NOTICE, "Notice")]
EXAMPLE = [{"days": 7, "how": MESSAGE}, {"days": 30, "how": MESSAGE}, {"days": 60, "how": NOTICE}]
"""A usual ladder: a first nudge after a week, then by months (common practice)."""


@dataclass(frozen=True)
class Rung:
    """After so many local days since it was ready."""

    days: int
    how: str

    @property
    def is_notice(self) -> bool:
        return self.how == NOTICE

    @property
    def words(self) -> str:
        return "Write a notice" if self.is_notice else "Send a reminder"


def rungs(studio: Profile) -> list[Rung]:
    """In the order of their days; none where the owner has set nothing."""
    return sorted(
        (Rung(step["days"], step["how"]) for step in studio.collect_steps),
        key=lambda rung: rung.days,
    )


def rung_due(ticket: Ticket, studio: Profile, messages: Iterable[SentMessage]) -> Rung | None:
    """The highest rung that the ticket has reached, unless it was taken, or a higher one was."""
    if ticket.state != State.READY or ticket.ready_at is None:
        return None
    days = age_in_days(ticket.ready_at)
    reached = [rung for rung in rungs(studio) if rung.days <= days]
    if not reached:
        return None
    taken = _taken(ticket, messages)
    return reached[-1] if reached[-1].days > taken else None


def _taken(ticket: Ticket, messages: Iterable[SentMessage]) -> int:
    """The highest rung that was taken since it became ready; 0 for none."""
    since = ticket.ready_at
    rungs_taken = [
        message.about.partition(" ")[0]
        for message in messages
        if message.ticket_id == ticket.pk
        and message.kind == MessageKind.NOT_COLLECTED
        and not message.wrong
        and since
        and message.at >= since
    ]
    return max((int(days) for days in rungs_taken if days.isdecimal()), default=0)


def next_rung(ticket: Ticket, studio: Profile) -> Rung | None:
    """The one that comes after those the ticket has reached."""
    if ticket.ready_at is None:
        return None
    days = age_in_days(ticket.ready_at)
    return next((rung for rung in rungs(studio) if rung.days > days), None)
