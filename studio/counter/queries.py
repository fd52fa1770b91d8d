"""What the first page shows of the day."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import QuerySet

from jobs.tickets.models import State, Ticket
from jobs.tickets.queries import ticket_list
from studio.shop import clock

A_DAYS_WORK = 12
A_FEW = 6


@dataclass(frozen=True)
class Few:
    """The first few of a list, and how many there are."""

    tickets: list[Ticket]
    count: int

    @property
    def more(self) -> int:
        return self.count - len(self.tickets)


@dataclass(frozen=True)
class Glance:
    """The counter's day. What is due or overdue is still on the bench."""

    day: date
    overdue: Few
    due_today: Few
    due_tomorrow: Few
    ready: Few
    received: Few


def at_a_glance() -> Glance:
    """The day's lists, in ten queries whatever they hold."""
    day = clock.today()
    midnights = [clock.at(day + timedelta(days=ahead), time.min) for ahead in range(3)]
    bench = ticket_list().filter(state__in=[State.RECEIVED, State.IN_WORK]).order_by("promise_at")
    ready = ticket_list().filter(state=State.READY).order_by("ready_at", "pk")
    received = ticket_list().filter(received_at__gte=midnights[0]).exclude(state=State.CANCELLED)
    return Glance(
        day=day,
        overdue=_few(bench.filter(promise_at__lt=midnights[0]), A_DAYS_WORK),
        due_today=_few(_between(bench, midnights[0], midnights[1]), A_DAYS_WORK),
        due_tomorrow=_few(_between(bench, midnights[1], midnights[2]), A_DAYS_WORK),
        ready=_few(ready, A_FEW),
        received=_few(received, A_FEW),
    )


def _between(tickets: QuerySet[Ticket], start: datetime, end: datetime) -> QuerySet[Ticket]:
    return tickets.filter(promise_at__gte=start, promise_at__lt=end)


def _few(tickets: QuerySet[Ticket], most: int) -> Few:
    """One query for the first few; another for their number only when there are more."""
    first = list(tickets[: most + 1])
    count = len(first) if len(first) <= most else tickets.count()
    return Few(first[:most], count)
