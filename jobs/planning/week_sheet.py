"""A week on one sheet: hours day by day, whose they are, what must be done of it, and why."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from operator import attrgetter
from typing import Any

from jobs.planning.core import OWN
from jobs.planning.models import Appointment, BenchTime, Fitting
from jobs.planning.plan.book import Book
from jobs.planning.plan.days import MustDoBy, must_do
from jobs.planning.plan.weeks import DayBar, WeekBars, six_weeks, week_bars
from jobs.planning.reading import Reading
from jobs.planning.records import Taken, TimeRow
from studio.shop import clock

WEEK = timedelta(weeks=1)
KINDS: dict[str, str] = {
    BenchTime.Purpose.CLIENT: "clients",
    BenchTime.Purpose.OWN: "own",
    BenchTime.Purpose.RELEASE: "releases",
}
TITLES = {"own": "Own sewing", "releases": "Pattern release"}


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

    @property
    def title(self) -> str:
        """What is said of it that is nobody's ticket."""
        return self.names[0] if self.names else TITLES[self.kind]


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
    due: MustDoBy | None = None
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
    done, comes = sewn(reading.times), appointment_items(reading, monday)
    bars = week_bars(book, monday, done.minutes)
    return WeekSheet(
        bars=bars,
        days=[
            Day(
                bar,
                [
                    *done.items.get(bar.day, []),
                    *comes.get(bar.day, []),
                    *planned_items(book, bar.day),
                ],
                past=bar.day < book.bench.today,
                today=bar.day == book.bench.today,
            )
            for bar in bars.days
        ],
        own=own[monday],
        taken=[row for row in reading.taken if row.monday == monday],
        past=False,
        due=must_do(book, monday + timedelta(days=6)),
        glance=[Glance(week, own[week.monday]) for week in six_weeks(book, done.minutes)],
        later=monday + WEEK if monday + WEEK <= book.bench.buckets[-1].day else None,
    )


def own_hours(book: Book) -> dict[date, OwnHours]:
    """By Monday, for the weeks of the bench.

    Hours put on days count as planned, and so do those given to makes with a day.
    """
    return {
        target.monday: OwnHours(
            target.monday, target.minutes, target.spent, target.placed + given + week.kept
        )
        for target, given, week in zip(book.targets, book.given.by_week, book.plan.own, strict=True)
    }


@dataclass(frozen=True)
class Sewn:
    """What was really sewn, by local day: ``minutes`` by purpose, and the lines of the day's list.

    Each ticket is one line of a day; own sewing and releases come after them.
    """

    minutes: dict[tuple[date, str], int]
    items: dict[date, list[Item]]


def sewn(times: Iterable[TimeRow]) -> Sewn:
    rows: dict[tuple[date, str, str], list[TimeRow]] = defaultdict(list)
    for row in times:
        if row.minutes:
            rows[clock.local(row.started_at).date(), row.purpose, row.ticket or ""].append(row)
    minutes: dict[tuple[date, str], int] = defaultdict(int)
    items: dict[date, list[Item]] = defaultdict(list)
    for (day, purpose, ticket), spent in sorted(rows.items()):
        names = dict.fromkeys(f"{row.garment} {row.name}" for row in spent if ticket)
        item = Item(
            kind=KINDS[purpose],
            minutes=sum(row.minutes or 0 for row in spent),
            ticket=ticket,
            client=spent[0].client or "",
            names=tuple(names),
            done=True,
        )
        items[day].append(item)
        minutes[day, purpose] += item.minutes
    return Sewn(minutes, items)


def planned_items(book: Book, day: date) -> list[Item]:
    """What is sewn on a day, for whom, in due order, and what is the owner's."""
    first, last = max(0, book.bench.first_of_day(day)), book.bench.last_of_day(day)
    works: dict[tuple[str, str, str], dict[str, int]] = defaultdict(dict)
    own: dict[str, int] = defaultdict(int)
    for bucket in range(first, last + 1):
        for stage, minutes in book.plan.days[bucket]:
            if stage.startswith(OWN):
                own[book.made_of[stage].words if stage in book.made_of else ""] += minutes
                continue
            job, work = book.load.job_of[stage], book.load.works[stage]
            name = f"{work.garment} {work.name}"
            names = works[job.ticket, job.client, work.waits]
            names[name] = names.get(name, 0) + minutes
    items = [
        Item("clients", sum(names.values()), ticket, client, tuple(names), waits=waits)
        for (ticket, client, waits), names in works.items()
    ]
    own_items = [
        Item("own", own[name], names=(name,) if name else ())
        for name in sorted(own, key=lambda name: (not name, name))
    ]
    return [*items, *own_items]


def appointment_items(reading: Reading, monday: date) -> dict[date, list[Item]]:
    """Fittings, appointments and hours put on days of a week, by local day and in clock order."""
    bench = reading.book.bench
    first, end = (clock.at(monday + timedelta(days=days), time.min) for days in (0, 7))
    states = {Fitting.State.BOOKED, Fitting.State.KEPT}
    rows: list[Fitting | Appointment] = [
        *(one for one in reading.fittings if one.state in states),
        *reading.appointments,
    ]
    rows = [one for one in rows if first <= one.starts_at < end]
    items: dict[date, list[Item]] = defaultdict(list)
    for one in sorted(rows, key=attrgetter("starts_at")):
        told: dict[str, Any] = {
            "minutes": one.minutes,
            "starts": one.starts_at,
            "done": one.ends_at <= bench.now,
        }
        if isinstance(one, Fitting):
            ticket = reading.ticket_of[one.ticket_id]
            told |= {"ticket": ticket.number, "client": ticket.client}
            item = Item("appointments", names=(Fitting.Kind(one.kind).label,), **told)
        else:
            kind = "own" if one.kind == Appointment.Kind.OWN else "appointments"
            item = Item(kind, names=(str(one),), **told)
        items[bench.day_of(one.starts_at)].append(item)
    return items
