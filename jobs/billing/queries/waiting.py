"""What is ready, what is not collected since when, and who owes."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.db.models.functions import Coalesce

from jobs.billing.queries.balances import with_balances
from jobs.tickets.models import State, Ticket
from studio.shop import clock

# A first nudge after a week, then the months that notices and storage fees usually go by.
AGES = (7, 30, 60, 90, 120)


def age_in_days(moment: datetime) -> int:
    """How many local midnights have passed since ``moment``."""
    return (clock.today() - clock.local(moment).date()).days


def ready_tickets() -> QuerySet[Any]:
    """Tickets that are ready, by client, with ``here`` pieces and their balance."""
    here = Q(garments__removed_at=None, garments__handed_over_at=None)
    ready = Ticket.objects.filter(state=State.READY).select_related("client")
    counted = ready.annotate(here=Count("garments", filter=here, distinct=True))
    return with_balances(counted).order_by("client__name_key", "pk")


def uncollected(days: int = 0) -> QuerySet[Any]:
    """Ready tickets whose client has not come for at least ``days`` local days, oldest first."""
    return ready_tickets().filter(ready_at__lt=_start_of(days - 1)).order_by("ready_at", "pk")


def waiting_by_age() -> dict[int, int]:
    """How many tickets have been ready for at least each of the ``AGES`` in days, in one query."""
    since = Ticket.objects.filter(state=State.READY).values_list("ready_at", flat=True)
    ages = [age_in_days(moment) for moment in since if moment]
    return {days: sum(age >= days for age in ages) for days in AGES}


def owing() -> QuerySet[Any]:
    """Tickets with money open, or to give back, the oldest first.

    ``since`` is the moment of collection, or else of readiness, or else of drop-off.
    """
    tickets = with_balances(Ticket.objects.select_related("client")).exclude(balance=0)
    since = Coalesce("collected_at", "ready_at", "received_at")
    return tickets.annotate(since=since).order_by("since", "pk")


@dataclass(frozen=True)
class OpenMoney:
    """What all tickets together have open, in minor units; ``gone`` is the part handed over."""

    owed: int
    gone: int
    to_give_back: int


def open_money() -> OpenMoney:
    rows = list(owing().values_list("state", "balance"))
    return OpenMoney(
        owed=sum(balance for _, balance in rows if balance > 0),
        gone=sum(balance for state, balance in rows if balance > 0 and state == State.COLLECTED),
        to_give_back=-sum(balance for _, balance in rows if balance < 0),
    )


def _start_of(days_ago: int) -> datetime:
    day: date = clock.today() - timedelta(days=days_ago)
    return clock.at(day, time())
