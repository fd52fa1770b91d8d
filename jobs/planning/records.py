"""What was written down about time: minutes at the bench, days off, own hours and who took them."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from operator import attrgetter
from typing import NamedTuple

from django.db.models import (
    Case,
    CharField,
    F,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from jobs.makes.models import Make, State
from jobs.planning.models import BenchTime, HoursTaken, OwnWeek
from jobs.planning.plan.workload import PlannedMake
from studio.shop.models import DayOff

FORGOTTEN = timedelta(hours=4)
"""After this a running clock was surely forgotten (common practice: a long sitting)."""


def is_forgotten(started_at: datetime, now: datetime) -> bool:
    """Whether a clock runs for longer than anybody sits at the bench."""
    return now - started_at > FORGOTTEN


class TimeRow(NamedTuple):
    """Minutes at the bench, None while the clock runs.

    Client work says on what; own sewing and releases do where they know.
    """

    purpose: str
    started_at: datetime
    minutes: int | None
    by: int
    line: int | None
    name: str | None
    garment: str | None
    ticket: str | None
    client: str | None
    make: int | None = None
    make_words: str | None = None
    stage: int | None = None
    stage_name: str | None = None
    release: int | None = None
    release_name: str | None = None


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
            "make_id",
            "make__words",
            "stage_id",
            "stage__name",
            "stage__release_id",
            "stage__release__name",
        )
    ]
    return sorted(times, key=attrgetter("started_at"))


class Taken(NamedTuple):
    """Own minutes of a week that a ticket took."""

    monday: date
    ticket: str
    minutes: int


class UnderWay(NamedTuple):
    """A make that is being sewn."""

    pk: int
    words: str


@dataclass(frozen=True)
class Dates:
    """Days off, the own minutes of weeks where they differ from the usual, own hours taken.

    ``makes`` are those that the owner planned, by their day, and ``under_way`` those being sewn.
    """

    closed: frozenset[date]
    own: dict[date, int]
    taken: tuple[Taken, ...]
    makes: tuple[PlannedMake, ...] = ()
    under_way: tuple[UnderWay, ...] = ()


OFF, OWN, TAKEN, PLANNED, SEWN = "off", "own", "taken", "planned", "sewn"


def read_dates(first: date, last: date = date.max) -> Dates:
    """What is noted for the days from ``first`` to ``last``, and the makes, in one query."""
    between = {"day__range": (first, last)}
    weeks = {"monday__range": (first, last)}
    none, nobody = Value(0, IntegerField()), Value("", CharField())
    off = DayOff.objects.filter(**between).order_by()
    own = OwnWeek.objects.filter(**weeks).order_by()
    taken = HoursTaken.objects.filter(**weeks).order_by()
    rows = off.values_list(Value(OFF, CharField()), "day", none, nobody, none).union(
        own.values_list(Value(OWN, CharField()), "monday", "minutes", nobody, none),
        taken.values_list(Value(TAKEN, CharField()), "monday", "minutes", "ticket__number", none),
        _makes(),
        all=True,
    )
    by_kind: dict[str, list[tuple[date, int, str, int]]] = {}
    for kind, *fact in rows:
        by_kind.setdefault(kind, []).append(tuple(fact))
    makes = [*by_kind.get(PLANNED, []), *by_kind.get(SEWN, [])]
    return Dates(
        closed=frozenset(day for day, *_ in by_kind.get(OFF, [])),
        own={monday: minutes for monday, minutes, *_ in by_kind.get(OWN, [])},
        taken=tuple(
            sorted(
                Taken(monday, ticket, minutes)
                for monday, minutes, ticket, _ in by_kind.get(TAKEN, [])
            )
        ),
        makes=tuple(
            PlannedMake(pk, words, day, minutes)
            for day, minutes, words, pk in makes
            if day and minutes > 0
        ),
        under_way=tuple(
            sorted(
                (UnderWay(pk, words) for _, _, words, pk in by_kind.get(SEWN, [])),
                key=attrgetter("words", "pk"),
            )
        ),
    )


def _makes() -> QuerySet:
    """Makes under way, and others that are planned for a day, with the minutes that are left."""
    planned = Q(planned=True, wear_by__isnull=False)
    on_the_wall = Q(state__in=[State.IDEA, State.LINED_UP])
    spent = (
        BenchTime.objects.filter(make=OuterRef("pk"))
        .order_by()
        .values("make")
        .annotate(total=Sum("minutes"))
        .values("total")
    )
    return (
        Make.objects.filter(Q(state=State.UNDER_WAY) | on_the_wall & planned)
        .annotate(
            which=Case(
                When(state=State.UNDER_WAY, then=Value(SEWN)),
                default=Value(PLANNED),
                output_field=CharField(),
            ),
            for_day=Case(When(planned, then="wear_by")),
            left=Coalesce(F("minutes") - Coalesce(Subquery(spent), 0), 0),
        )
        .order_by()
        .values_list("which", "for_day", "left", "words", "pk")
    )
