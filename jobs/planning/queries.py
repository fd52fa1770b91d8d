"""The one place where the week is read from the database, in a number of queries that never grows.

Rows leave here as plain data. Moments are put in order in Python where SQLite, asked for the order,
would walk through those of all years.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cached_property
from itertools import groupby
from operator import attrgetter
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import (
    CharField,
    F,
    FilteredRelation,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    TextField,
    Value,
)
from django.db.models.functions import Cast, Coalesce
from django.utils import timezone

from jobs.makes.models import UNTITLED, Make, MakeState
from jobs.planning.core import Ratio, median_remaining
from jobs.planning.models import (
    FELL_THROUGH,
    Appointment,
    BenchTime,
    Fitting,
    HoursTaken,
    LongerDay,
    OwnSewingDay,
    OwnWeek,
    PlanRules,
    Wait,
)
from jobs.planning.plan.bench import Busy, Shift, ShopHours, lay_out, sew_longer
from jobs.planning.plan.book import GLANCE, Book, monday_of, own_targets
from jobs.planning.plan.workload import (
    TO_HANG,
    FittingRow,
    LineRow,
    OpenTicket,
    OwnDay,
    PlannedMake,
    job_of,
)
from jobs.pricing.models import FittingPlace, WorkOrder
from jobs.tickets.models import Garment, Line, Photo, State, Ticket
from jobs.tickets.quoting import minutes_of_rows
from studio.shop import clock
from studio.shop.models import DayOff, Profile, WorkingDay

HORIZON = 84
"""Days that are laid out with their appointments; after them the week repeats."""
LONGEST = timedelta(days=1)
"""No fitting or appointment is longer."""
AT_THE_BENCH = [State.RECEIVED, State.IN_WORK]
AS_AGREED = Ratio()
"""How long work takes against its minutes as long as nothing else is known."""
ON_TICKET = Q(removed_at=None, garment__removed_at=None)
OPEN = Q(done_at=None, not_done_why="")


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


TIME_COLUMNS = (
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


class TakenHours(NamedTuple):
    """Own minutes of a week that a ticket took."""

    monday: date
    ticket: str
    minutes: int


class MakeUnderWay(NamedTuple):
    """A make that is being sewn."""

    pk: int
    words: str


@dataclass(frozen=True)
class StudioWeek:
    """The book of work with what the pages show beside it.

    ``tickets`` are the open ones in due order and those that became ready today, ``finished`` the
    operations done today, ``unmeasured`` those still to be measured. ``times`` are the bench times
    of this week and every running clock; ``taken`` are the own hours that tickets took from this
    week on, ``under_way`` the makes being sewn.
    """

    book: Book
    hours: ShopHours
    rules: PlanRules
    fittings: list[FittingRow]
    appointments: list[Appointment]
    tickets: list[OpenTicket]
    finished: list[LineRow]
    unmeasured: list[LineRow]
    times: list[TimeRow]
    taken: list[TakenHours]
    under_way: list[MakeUnderWay]

    @cached_property
    def ticket_of(self) -> dict[int, OpenTicket]:
        """The tickets by their key."""
        return {ticket.pk: ticket for ticket in self.tickets}

    def fittings_of(self, ticket: Ticket) -> list[FittingRow]:
        return [fitting for fitting in self.fittings if fitting.ticket == ticket.pk]


def read_week(
    studio: Profile, *, without: Ticket | None = None, until: date | None = None
) -> StudioWeek:
    """Everything the planner needs, in eleven queries.

    ``without`` leaves one ticket's work out, to ask about it anew. The own hours of weeks that
    begin after ``until``, are not among those at a glance and lie behind all planned makes stay
    out of the book: they take nothing from the weeks before.
    """
    # Whole minutes, so that no page shows the seconds of its own making.
    now, zone = clock.now().replace(second=0, microsecond=0), ZoneInfo(studio.time_zone)
    today = now.astimezone(zone).date()
    midnight, monday = clock.at(today, time.min), monday_of(today)
    week_began = clock.at(monday, time.min)
    rules, hours = PlanRules.load(), read_hours(monday)
    since = min(week_began, now - LONGEST)
    appointments = list(Appointment.objects.filter(starts_at__gte=since))
    tickets = read_tickets(midnight)
    fittings = read_fittings(midnight)
    times = read_times(week_began)
    lines = read_lines([ticket.pk for ticket in tickets], done_since=midnight)
    makes = read_makes()
    at_work = [
        ticket
        for ticket in tickets
        if ticket.at_the_bench and (without is None or ticket.pk != without.pk)
    ]
    own = [row for row in appointments if row.kind == Appointment.Kind.OWN]
    other = [row for row in appointments if row.kind == Appointment.Kind.OTHER]
    blocks = _stretches(own)
    busy = (
        *(Busy(row.starts, row.ends) for row in fittings if not row.fell_through),
        *_stretches(other),
    )
    # The bench ends with a whole week, so that the days after it can follow its pattern.
    days = HORIZON + 6 - (today.weekday() + HORIZON - 1) % 7
    bench = lay_out(
        now,
        days,
        zone,
        hours.shifts,
        closed=hours.closed,
        busy=[*busy, *blocks],
        cuts=[moment for moment, _ in groupby(ticket.promise_at for ticket in at_work)],
        lost_percent=rules.lost_percent,
    )
    chosen, own_days, longer = read_own_plan(monday, today, times)
    if longer:
        bench = sew_longer(bench, longer, rules.lost_percent, hours.opens)
    planned = [make for make in makes.planned if make.day >= today]
    at_a_glance = monday + timedelta(weeks=GLANCE, days=-1)
    with_day = [*(make.day for make in planned), *(own.day for own in own_days)]
    shown = max([until, at_a_glance, *with_day]) if until else date.max
    targets = own_targets(
        bench,
        hours,
        rules.own_percent,
        chosen=chosen,
        blocks=blocks,
        own_days=own_days,
        spent=own_spent(times, week_began),
        last=min(shown, bench.buckets[-1].day),
    )
    lines_of: dict[int, list[LineRow]] = defaultdict(list)
    for line in lines:
        if not line.done_at:
            lines_of[line.ticket].append(line)
    fittings_of: dict[int, list[FittingRow]] = defaultdict(list)
    for fitting in fittings:
        fittings_of[fitting.ticket].append(fitting)
    book = Book(
        bench,
        tuple(
            job_of(ticket, lines_of[ticket.pk], fittings_of[ticket.pk], bench.now)
            for ticket in at_work
            if ticket.pk in lines_of
        ),
        busy,
        blocks,
        targets,
        rules.min_piece,
        makes=tuple(planned),
        unnamed=_stretches([row for row in own if not row.name]),
        own_days=tuple(own_days),
    )
    return StudioWeek(
        book=book,
        hours=hours,
        rules=rules,
        fittings=fittings,
        appointments=appointments,
        tickets=tickets,
        finished=[line for line in lines if line.done_at],
        unmeasured=[line for line in lines if line.to_measure],
        times=times,
        taken=read_taken(monday),
        under_way=makes.under_way,
    )


def _stretches(appointments: Iterable[Appointment]) -> tuple[Busy, ...]:
    return tuple(Busy(row.starts_at, row.ends_at) for row in appointments)


def read_hours(since: date, until: date = date.max) -> ShopHours:
    """The studio's hours, with the days off in between. Two queries."""
    closed = DayOff.objects.filter(day__range=(since, until)).values_list("day", flat=True)
    return ShopHours(read_shifts(), frozenset(closed))


def hours_now() -> ShopHours:
    """The studio's hours of this week and all later ones. Two queries."""
    return read_hours(monday_of(clock.today()))


def read_shifts() -> dict[int, Shift]:
    days = WorkingDay.objects.filter(minutes__gt=0)
    return {day.weekday: Shift(day.starts, day.minutes) for day in days}


def read_own_weeks(first: date, last: date = date.max) -> dict[date, int]:
    """The own minutes of weeks where they differ from the usual share."""
    weeks = OwnWeek.objects.filter(monday__range=(first, last))
    return dict(weeks.values_list("monday", "minutes"))


def read_taken(first: date, last: date = date.max) -> list[TakenHours]:
    """The own hours that tickets took of these weeks, in order of week and ticket."""
    rows = HoursTaken.objects.filter(monday__range=(first, last))
    columns = rows.order_by().values_list("monday", "ticket__number", "minutes")
    return sorted(map(TakenHours._make, columns))


@dataclass(frozen=True)
class MakeRows:
    """Makes that the owner planned for a day, with minutes still to be sewn; and those under way.

    The latter in order of their words.
    """

    planned: list[PlannedMake]
    under_way: list[MakeUnderWay]


def read_makes() -> MakeRows:
    """One query. A make whose clock still runs has not spent those minutes yet."""
    planned = Q(planned=True, wear_by__isnull=False)
    on_the_wall = Q(state__in=[MakeState.IDEA, MakeState.LINED_UP])
    makes = (
        Make.objects.filter(Q(state=MakeState.UNDER_WAY) | on_the_wall & planned)
        .annotate(spent=_spent_on("make"))
        .order_by("words", "pk")
        .values_list("pk", "words", "state", "planned", "wear_by", "minutes", "spent")
    )
    rows = MakeRows([], [])
    for pk, typed, state, is_planned, day, minutes, spent in makes:
        words = typed or UNTITLED
        left = (minutes or 0) - (spent or 0)
        if is_planned and day and left > 0:
            rows.planned.append(PlannedMake(pk, words, day, left))
        if state == MakeState.UNDER_WAY:
            rows.under_way.append(MakeUnderWay(pk, words))
    return rows


def read_own_plan(
    monday: date, today: date, times: Iterable[TimeRow]
) -> tuple[dict[date, int], list[OwnDay], dict[date, int]]:
    """What the owner chose of the week, in one query.

    The own minutes of weeks from ``monday`` on where they differ from the usual share; those put on
    days from today on, less what was sewn today; and by how many minutes days are longer.
    """
    nothing, no_words = Value(0), Value("", output_field=CharField())
    weeks = OwnWeek.objects.filter(monday__gte=monday).order_by()
    days = OwnSewingDay.objects.filter(day__gte=today).order_by()
    longer_days = LongerDay.objects.filter(day__gte=today).order_by()
    rows = weeks.values_list(Value(0), "monday", "minutes", nothing, no_words).union(
        longer_days.values_list(Value(1), "day", "minutes", nothing, no_words),
        days.values_list(
            Value(2),
            "day",
            "minutes",
            Coalesce("make", nothing),
            Coalesce("make__words", no_words),
        ),
        all=True,
    )
    own_days: list[OwnDay] = []
    chosen: dict[date, int] = {}
    longer: dict[date, int] = {}
    zone, sewn = timezone.get_current_timezone(), 0
    for row in times:
        if row.purpose == BenchTime.Purpose.OWN and row.minutes:
            sewn += row.minutes * (row.started_at.astimezone(zone).date() == today)
    for kind, day, minutes, make, words in sorted(rows):
        if kind < 2:
            (longer if kind else chosen)[day] = minutes
            continue
        off = min(sewn, minutes) if day == today else 0
        sewn -= off
        if minutes > off:
            own_days.append(OwnDay(day, minutes - off, make or None, words))
    return chosen, own_days, longer


def _spent_on(what: str) -> Subquery:
    """The bench minutes of each row, as a subquery: one query for any number of rows."""
    times = BenchTime.objects.filter(**{what: OuterRef("pk")}).order_by().values(what)
    return Subquery(times.annotate(total=Sum("minutes")).values("total"))


def read_times(since: datetime, until: datetime | None = None) -> list[TimeRow]:
    """Bench times begun since then, and before ``until``; without it also whatever clock runs."""
    wanted = Q(started_at__gte=since)
    if until:
        wanted &= Q(started_at__lt=until)
    else:
        # Asked for by key, so that both sides of the "or" have an index.
        wanted |= Q(pk__in=BenchTime.objects.filter(minutes=None).order_by().values("pk"))
    times = BenchTime.objects.filter(wanted).order_by().values_list(*TIME_COLUMNS)
    return sorted((TimeRow(*row) for row in times), key=attrgetter("started_at"))


def own_spent(times: Iterable[TimeRow], since: datetime) -> int:
    """Own minutes sewn since then."""
    own = BenchTime.Purpose.OWN
    return sum(row.minutes or 0 for row in times if row.purpose == own and row.started_at >= since)


def minutes_by_day(times: Iterable[TimeRow]) -> dict[tuple[date, str], int]:
    """Minutes really sewn, by local day and purpose."""
    zone = timezone.get_current_timezone()
    minutes: dict[tuple[date, str], int] = defaultdict(int)
    for row in times:
        if row.minutes:
            minutes[row.started_at.astimezone(zone).date(), row.purpose] += row.minutes
    return minutes


def tickets_here(ready_since: datetime) -> QuerySet[Ticket]:
    """The open tickets and those that became ready since then, without an order."""
    here = Q(state__in=State.open()) | Q(ready_at__gte=ready_since)
    return Ticket.objects.filter(here).exclude(state=State.CANCELLED).order_by()


def read_tickets(ready_since: datetime) -> list[OpenTicket]:
    """``tickets_here`` in due order, in one query."""
    columns = ("pk", "number", "client__name", "promise_at", "state")
    tickets = [
        OpenTicket(pk, number, client, promise_at, state in AT_THE_BENCH, state == State.READY)
        for pk, number, client, promise_at, state in tickets_here(ready_since).values_list(*columns)
    ]
    return sorted(tickets, key=attrgetter("promise_at"))


def ticket_row(ticket: Ticket) -> OpenTicket:
    """One ticket that is at hand already."""
    return OpenTicket(
        pk=ticket.pk,
        number=ticket.number,
        client=ticket.client.name,
        promise_at=ticket.promise_at,
        at_the_bench=ticket.state in AT_THE_BENCH,
        ready=ticket.state == State.READY,
    )


def read_fittings(ready_since: datetime) -> list[FittingRow]:
    """The fittings of ``tickets_here`` in order of time, but for the cancelled. One query."""
    here = tickets_here(ready_since).values("pk")
    fittings = Fitting.objects.filter(ticket__in=here).exclude(state=Fitting.State.CANCELLED)
    return fitting_rows(fittings.order_by())


def fitting_rows(fittings: Iterable[Fitting]) -> list[FittingRow]:
    """Fittings as plain rows, in order of time."""
    rows = [
        FittingRow(
            pk=fitting.pk,
            ticket=fitting.ticket_id,
            kind=Fitting.Kind(fitting.kind).label,
            starts=fitting.starts_at,
            ends=fitting.ends_at,
            booked=fitting.state == Fitting.State.BOOKED,
            fell_through=fitting.state in FELL_THROUGH,
        )
        for fitting in fittings
    ]
    return sorted(rows, key=attrgetter("starts", "pk"))


def clash_with(
    starts_at: datetime, minutes: int, *, besides: Fitting | Appointment | None = None
) -> Fitting | Appointment | None:
    """What is expected at that time already. Two queries."""
    around = Q(
        starts_at__lt=starts_at + timedelta(minutes=minutes), starts_at__gt=starts_at - LONGEST
    )
    fittings = Fitting.objects.filter(
        around, state=Fitting.State.BOOKED, ticket__state__in=State.open()
    ).select_related("ticket")
    rows: list[Fitting | Appointment] = [
        *fittings.select_related("ticket"),
        *Appointment.objects.filter(around),
    ]
    return next((row for row in rows if row.ends_at > starts_at and row != besides), None)


def _wait_of(line: Mapping[str, Any]) -> dict[str, Any]:
    """What an operation waits for: what somebody said, else that it hangs since it came."""
    if line["what"]:
        label = Wait.What(line["what"]).label
        return {"waits": label, "expected": line["expected"], "since": line["since"]}
    if line["hang_days"]:
        levelled = clock.local(line["received"]).date() + timedelta(days=line["hang_days"])
        if levelled > clock.today():
            return {"waits": TO_HANG, "expected": levelled, "since": line["received"]}
    return {"waits": "", "expected": line["expected"], "since": line["since"]}


class GarmentRow(NamedTuple):
    """What a garment is drawn from, or the key of its first photograph."""

    pk: int
    ticket: str
    letter: str
    kind: str
    colour: str
    photo: int | None


def read_garments(lines: Collection[int]) -> list[GarmentRow]:
    """The garments that these operations are on, by ticket and letter. One query."""
    photos = Photo.objects.filter(garment=OuterRef("pk")).order_by("pk").values("pk")[:1]
    rows = (
        Garment.objects.filter(pk__in=Line.objects.filter(pk__in=lines).values("garment"))
        .order_by()
        .values_list("pk", "ticket__number", "letter", "kind_name", "colour", Subquery(photos))
    )
    return sorted(map(GarmentRow._make, rows), key=attrgetter("ticket", "letter"))


def open_wait() -> FilteredRelation:
    """The one wait of an operation that has not ended."""
    return FilteredRelation("waits", condition=Q(waits__ended_at=None))


def read_lines(tickets: Collection[int], done_since: datetime | None = None) -> list[LineRow]:
    """Operations of these tickets that are still to be done, in the order of work. One query.

    With ``done_since`` also what was done since then.
    """
    wanted = OPEN | Q(done_at__gte=done_since) if done_since else OPEN
    lines = list(
        Line.objects.annotate(waiting=open_wait(), spent=_spent_on("line"))
        .filter(ON_TICKET, wanted, garment__ticket__in=tickets)
        .order_by("work_order", "pk")
        .values(
            "pk",
            "name",
            "minutes_each",
            "quantity",
            "work_order",
            "fitting_first",
            "fitting_place",
            "hang_days",
            "done_at",
            "measure_later",
            "spent",
            frozen=Cast("surcharges", TextField()),
            ticket=F("garment__ticket_id"),
            letter=F("garment__letter"),
            received=F("garment__ticket__received_at"),
            heel_changed=F("garment__heel_changed_at"),
            gate_fitting=F("gate__fitting_id"),
            gate_state=F("gate__fitting__state"),
            gate_starts=F("gate__fitting__starts_at"),
            marked_at=F("cut_mark__at"),
            what=F("waiting__what"),
            expected=F("waiting__expected"),
            question=F("waiting__question"),
            since=F("waiting__since"),
            put_on=F("sewing_day__day"),
        )
    )
    return [
        LineRow(
            pk=line["pk"],
            ticket=line["ticket"],
            garment=line["letter"],
            name=line["name"],
            # Bench minutes that are still to be sewn; the median of work not begun is as agreed.
            minutes=median_remaining(agreed, AS_AGREED, spent) if spent else agreed,
            spent=line["spent"],
            order=line["work_order"],
            is_hem=line["work_order"] == WorkOrder.HEM,
            fitting_first=line["fitting_first"],
            before_fitting=line["fitting_place"] == FittingPlace.BEFORE,
            gate=line["gate_fitting"],
            gate_fell_through=line["gate_state"] in FELL_THROUGH,
            gate_starts=line["gate_starts"],
            heel_changed=line["heel_changed"],
            marked_at=line["marked_at"],
            **_wait_of(line),
            question=line["question"] or "",
            day=line["put_on"],
            received=line["received"],
            done_at=line["done_at"],
            to_measure=line["measure_later"] and not line["done_at"],
        )
        for line, agreed in zip(lines, minutes_of_rows(lines), strict=True)
        for spent in [line["spent"]]
    ]
