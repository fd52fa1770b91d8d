"""A week on one sheet: hours day by day, whose they are, what must be done of it, and why."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from operator import attrgetter
from typing import Any

from jobs.planning.answers import Due, must_do
from jobs.planning.book import Book
from jobs.planning.core.share import OWN
from jobs.planning.models import Appointment, BenchTime, Fitting
from jobs.planning.reading import Reading
from jobs.planning.records import Taken, TimeRow
from jobs.planning.weeks import DayBar, WeekBars, six_weeks, week_bars
from jobs.planning.workload import Job
from studio.shop import clock

WEEK = timedelta(weeks=1)
KINDS: dict[str, str] = {
    BenchTime.Purpose.CLIENT: "clients",
    BenchTime.Purpose.OWN: "own",
    BenchTime.Purpose.RELEASE: "releases",
}


@dataclass(frozen=True)
class Item:
    """A line of a day's list: a ticket's work, an appointment, or own sewing.

    ``starts`` is the hour of an appointment, ``names`` are the operations, ``waits`` says for what
    they wait and ``done`` that it is behind.
    """

    kind: str
    minutes: int
    ticket: str = ""
    client: str = ""
    names: tuple[str, ...] = ()
    starts: datetime | None = None
    waits: str = ""
    done: bool = False


@dataclass(frozen=True)
class Day:
    """``past`` days are over, ``today`` is under way."""

    bar: DayBar
    items: list[Item]
    past: bool = True
    today: bool = False


@dataclass(frozen=True)
class OwnHours:
    """The owner's minutes of one week: wanted, sewn already, and found room for by the plan."""

    monday: date
    target: int
    sewn: int
    planned: int

    @property
    def kept(self) -> int:
        return self.sewn + self.planned

    @property
    def lost(self) -> int:
        return max(0, self.target - self.kept)


@dataclass(frozen=True)
class Glance:
    """One of the six weeks at a glance."""

    bars: WeekBars
    own: OwnHours


@dataclass(frozen=True)
class WeekSheet:
    """``bars`` and ``days`` of the week. ``due`` is the must-do until it ends, None once it did.

    ``past`` weeks show what was sewn. ``taken`` are the own minutes that tickets took. ``later``
    is the next week that can be shown.
    """

    bars: WeekBars
    days: list[Day]
    own: OwnHours
    taken: list[Taken]
    past: bool
    due: Due | None = None
    glance: list[Glance] | None = None
    later: date | None = None

    @property
    def monday(self) -> date:
        return self.bars.monday

    @property
    def sunday(self) -> date:
        return self.monday + timedelta(days=6)

    @property
    def earlier(self) -> date:
        return self.monday - WEEK

    @property
    def longest_week(self) -> int:
        """Minutes of the longest of the six weeks, for bars of one scale; at least 1."""
        return max(1, *(week.bars.whole for week in self.glance or []))

    @property
    def taken_minutes(self) -> int:
        return sum(row.minutes for row in self.taken)


def week_sheet(reading: Reading, monday: date) -> WeekSheet:
    """This week or one of those the bench is laid out for.

    Raises LookupError for any other week.
    """
    book = reading.book
    own = own_hours(book)
    if monday not in own:
        raise LookupError(monday)
    done = sewn_by_day(reading.times)
    bars = week_bars(book, monday, done)
    return WeekSheet(
        bars=bars,
        days=[
            Day(
                bar,
                [*sewn_items(reading.times, bar.day), *planned_items(reading, bar.day)],
                past=bar.day < book.bench.today,
                today=bar.day == book.bench.today,
            )
            for bar in bars.days
        ],
        own=own[monday],
        taken=[row for row in reading.taken if row.monday == monday],
        past=False,
        due=must_do(book, monday + timedelta(days=6)),
        glance=[Glance(week, own[week.monday]) for week in six_weeks(book, done)],
        later=monday + WEEK if monday + WEEK in own else None,
    )


def own_hours(book: Book) -> dict[date, OwnHours]:
    """By Monday, for the weeks of the bench. Hours put on days count as planned."""
    return {
        target.monday: OwnHours(
            target.monday, target.minutes, target.spent, target.placed + week.kept
        )
        for target, week in zip(book.targets, book.plan.own, strict=True)
    }


def sewn_by_day(times: Iterable[TimeRow]) -> dict[tuple[date, str], int]:
    """Minutes really spent, by local day and purpose."""
    minutes: dict[tuple[date, str], int] = defaultdict(int)
    for time in times:
        minutes[clock.local(time.started_at).date(), time.purpose] += time.minutes or 0
    return minutes


def sewn_items(times: Iterable[TimeRow], day: date) -> list[Item]:
    """What was sewn on a day: each ticket once, then own sewing and releases."""
    rows: dict[tuple[str, str, str], list[TimeRow]] = defaultdict(list)
    for time in times:
        if time.minutes and clock.local(time.started_at).date() == day:
            rows[time.purpose, time.ticket or "", time.client or ""].append(time)
    return [
        Item(
            kind=KINDS[purpose],
            minutes=sum(time.minutes or 0 for time in spent),
            ticket=ticket,
            client=client,
            names=tuple(dict.fromkeys(f"{time.garment} {time.name}" for time in spent))
            if ticket
            else (),
            done=True,
        )
        for (purpose, ticket, client), spent in sorted(rows.items())
    ]


def planned_items(reading: Reading, day: date) -> list[Item]:
    """Who comes on a day, what is sewn for whom in due order, and what is the owner's."""
    book = reading.book
    first, last = max(0, book.bench.first_of_day(day)), book.bench.last_of_day(day)
    works: dict[tuple[Job, str], dict[str, int]] = defaultdict(dict)
    own = 0
    for bucket in range(first, last + 1):
        for stage, minutes in book.plan.days[bucket]:
            if stage.startswith(OWN):
                own += minutes
                continue
            job, work = book.load.job_of[stage], book.load.works[stage]
            name = f"{work.garment} {work.name}"
            names = works[job, work.waits]
            names[name] = names.get(name, 0) + minutes
    items = [
        Item("clients", sum(names.values()), job.ticket, job.client, tuple(names), waits=waits)
        for (job, waits), names in works.items()
    ]
    return [
        *_appointments(reading, day),
        *items,
        *([Item("own", own)] if own else []),
    ]


def _appointments(reading: Reading, day: date) -> list[Item]:
    """Fittings, appointments and hours put on the day, in clock order."""
    bench = reading.book.bench
    tickets = {one.pk: one for one in reading.tickets}
    states = {Fitting.State.BOOKED, Fitting.State.KEPT}
    rows: list[Fitting | Appointment] = [
        *(one for one in reading.fittings if one.state in states),
        *reading.appointments,
    ]
    items = []
    for one in sorted(rows, key=attrgetter("starts_at")):
        if bench.day_of(one.starts_at) != day:
            continue
        told: dict[str, Any] = {
            "minutes": one.minutes,
            "starts": one.starts_at,
            "done": one.ends_at <= bench.now,
        }
        if isinstance(one, Fitting):
            ticket, names = tickets[one.ticket_id], (one.get_kind_display(),)
            items.append(
                Item(
                    "appointments", ticket=ticket.number, client=ticket.client, names=names, **told
                )
            )
        else:
            kind = "own" if one.kind == Appointment.Kind.OWN else "appointments"
            items.append(Item(kind, names=(str(one),), **told))
    return items
