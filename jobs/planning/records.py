"""What was written down about time: minutes at the bench, days off, own hours and who took them."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from operator import attrgetter
from typing import NamedTuple

from django.db.models import CharField, IntegerField, Q, Value

from jobs.planning.models import BenchTime, HoursTaken, OwnWeek
from studio.shop.models import DayOff

FORGOTTEN = timedelta(hours=4)
"""After this a running clock was surely forgotten (common practice: a long sitting)."""


def is_forgotten(started_at: datetime, now: datetime) -> bool:
    """Whether a clock runs for longer than anybody sits at the bench."""
    return now - started_at > FORGOTTEN


class TimeRow(NamedTuple):
    """Minutes at the bench, None while the clock runs. Client work says on what."""

    purpose: str
    started_at: datetime
    minutes: int | None
    by: int
    line: int | None
    name: str | None
    garment: str | None
    ticket: str | None
    client: str | None


def read_times(since: datetime, until: datetime | None = None) -> list[TimeRow]:
    """Bench times begun since then, and before ``until``; without it also whatever clock runs."""
    wanted = Q(started_at__gte=since)
    if until:
        wanted &= Q(started_at__lt=until)
    else:
        # Asked for by key, so that both sides of the "or" have an index.
        wanted |= Q(pk__in=BenchTime.objects.filter(minutes=None).order_by().values("pk"))
    # Put in order here: asked for the order, SQLite walks through the times of all years.
    rows = BenchTime.objects.filter(wanted).order_by()
    times = [
        TimeRow(*row)
        for row in rows.values_list(
            "purpose",
            "started_at",
            "minutes",
            "by_id",
            "line_id",
            "line__name",
            "line__garment__letter",
            "line__garment__ticket__number",
            "line__garment__ticket__client__name",
        )
    ]
    return sorted(times, key=attrgetter("started_at"))


class Taken(NamedTuple):
    """Own minutes of a week that a ticket took."""

    monday: date
    ticket: str
    minutes: int


@dataclass(frozen=True)
class Dates:
    """Days off, the own minutes of weeks where they differ from the usual, own hours taken."""

    closed: frozenset[date]
    own: dict[date, int]
    taken: tuple[Taken, ...]


def read_dates(first: date, last: date = date.max) -> Dates:
    """What is noted for the days from ``first`` to ``last``, in one query."""
    between = {"day__range": (first, last)}
    weeks = {"monday__range": (first, last)}
    none, nobody = Value(0, IntegerField()), Value("", CharField())
    off = DayOff.objects.filter(**between).order_by()
    own = OwnWeek.objects.filter(**weeks).order_by()
    taken = HoursTaken.objects.filter(**weeks).order_by()
    rows = off.values_list(Value("off", CharField()), "day", none, nobody).union(
        own.values_list(Value("own", CharField()), "monday", "minutes", nobody),
        taken.values_list(Value("taken", CharField()), "monday", "minutes", "ticket__number"),
        all=True,
    )
    by_kind: dict[str, list[tuple[date, int, str]]] = {"off": [], "own": [], "taken": []}
    for kind, *fact in rows:
        by_kind[kind].append(tuple(fact))
    return Dates(
        closed=frozenset(day for day, _, _ in by_kind["off"]),
        own={monday: minutes for monday, minutes, _ in by_kind["own"]},
        taken=tuple(
            sorted(Taken(monday, ticket, minutes) for monday, minutes, ticket in by_kind["taken"])
        ),
    )
