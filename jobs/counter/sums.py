"""Whether what the pages say adds up: each figure reckoned again from the raw rows.

Hours are reckoned minute by minute and day by day, money and cloth by adding up rows. Nothing here
uses the planner but to ask what its pages say.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from jobs.billing.books import ledger
from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import invoiced_between, open_money, taken_between, with_balances
from jobs.makes.models import Cloth, ClothMove
from jobs.makes.shelf.queries import cloth_years, on_the_shelf
from jobs.planning.bench_time import spent_by_day, spent_by_week, spent_by_year, taken_in
from jobs.planning.models import (
    FELL_THROUGH,
    Appointment,
    BenchTime,
    Fitting,
    HoursTaken,
    LongerDay,
    OwnWeek,
    PlanRules,
)
from jobs.planning.own.spare_hours import spare_sheet
from jobs.planning.own_hours import coming_mondays, own_rows, own_year
from jobs.planning.queries import StudioWeek, read_own_weeks, read_week
from jobs.planning.week import WeekSheet, past_week, week_sheet
from jobs.tickets.models import PadNumber, State, Ticket
from jobs.tickets.queries import numbers_of_year
from studio.shop import clock
from studio.shop.models import DayOff, Profile, WorkingDay

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Sum:
    """``says`` is what a page says of ``what``, ``is_so`` what the rows come to."""

    what: str
    says: Any
    is_so: Any

    @property
    def right(self) -> bool:
        return bool(self.says == self.is_so)

    def __str__(self) -> str:
        return f"{self.what}: {self.says}, but the rows come to {self.is_so}"


def all_sums(studio: Profile) -> Iterator[Sum]:
    """Every figure that has a reckoning of its own, right or wrong."""
    yield from week_sums(studio)
    yield from year_sums()
    yield from money_sums()
    yield from cloth_sums()
    yield from number_sums()


def number_sums() -> Iterator[Sum]:
    """Reserved = used + voided + open, and each number of a year once."""
    tickets = list(Ticket.objects.values_list("number", flat=True))
    waiting = PadNumber.objects.filter(ticket=None).values_list("number", flat=True)
    given: dict[str, list[int]] = defaultdict(list)
    for number in [*tickets, *waiting]:
        year, _, count = number.partition("-")
        given[year].append(int(count))
    for year, counts in sorted(given.items()):
        said = numbers_of_year(2000 + int(year))
        of_all = said.used + len(said.void) + len(said.open)
        yield Sum(f"Ticket numbers of {year}", (said.last, of_all), (len(counts), len(counts)))
        yield Sum(f"Series of {year}", sorted(counts), [*range(1, len(counts) + 1)])


class _Days:
    """Minutes of each day from now on, from the rows: bench, appointments, own hours put on it."""

    def __init__(self, studio: Profile) -> None:
        self.zone = ZoneInfo(studio.time_zone)
        self.now = clock.now().replace(second=0, microsecond=0)
        self.lost = PlanRules.load().lost_percent
        self.shifts = {day.weekday: day for day in WorkingDay.objects.filter(minutes__gt=0)}
        self.closed = set(DayOff.objects.values_list("day", flat=True))
        self.longer = dict(LongerDay.objects.values_list("day", "minutes"))
        midnight = clock.at(clock.today(), time.min)
        # Those of tickets that are still in the house.
        fittings = Fitting.objects.exclude(state__in=[*FELL_THROUGH, Fitting.State.CANCELLED])
        here = [
            fitting
            for fitting in fittings.select_related("ticket")
            if fitting.ticket.state in State.open()
            or (fitting.ticket.ready_at and fitting.ticket.ready_at >= midnight)
        ]
        others = Appointment.objects.filter(kind=Appointment.Kind.OTHER)
        self.appointments = self._by_day([*here, *others])
        self.placed = self._by_day(list(Appointment.objects.filter(kind=Appointment.Kind.OWN)))
        self.busy = {
            minute
            for minutes in (*self.appointments.values(), *self.placed.values())
            for minute in minutes
        }

    def _by_day(self, rows: list[Any]) -> dict[date, list[datetime]]:
        """The minutes still to come of all of them, by the day on which each begins."""
        days: dict[date, list[datetime]] = defaultdict(list)
        for row in rows:
            for ahead in range(row.minutes):
                minute = row.starts_at + ahead * MINUTE
                if minute >= self.now:
                    days[row.starts_at.astimezone(self.zone).date()].append(minute)
        return days

    def bench(self, day: date) -> int:
        """What can be sewn: open minutes without an appointment, less the share that is lost."""
        shift = self.shifts.get(day.weekday())
        held = self.longer.get(day, 0) if day >= self.now.astimezone(self.zone).date() else 0
        if shift is None or day in self.closed:
            return held * (100 - self.lost) // 100
        ends = shift.starts.hour * 60 + shift.starts.minute + shift.minutes
        opens = clock.at(day, shift.starts)
        closes = clock.at(day + timedelta(days=ends // 1440), time(ends % 1440 // 60, ends % 60))
        minute = opens.astimezone(self.now.tzinfo)
        while minute < closes:
            held += minute >= self.now and minute not in self.busy
            minute += MINUTE
        return held * (100 - self.lost) // 100


def week_sums(studio: Profile) -> Iterator[Sum]:
    """This week and those at a glance: clients + own + free = bench; kept = sewn + fits + lost."""
    days, rules = _Days(studio), PlanRules.load()
    rows = own_rows(read_week(studio), read_own_weeks(coming_mondays()[0]))
    sewn = _sewn(BenchTime.objects.all())
    for place, monday in enumerate(coming_mondays()):
        sunday = monday + timedelta(days=6)
        week = read_week(studio, until=sunday)
        sheet = week_sheet(week, monday)
        name = f"Week of {monday}"
        for bar in sheet.bars.days:
            placed = len(days.placed[bar.day])
            loose = bar.own - placed
            yield Sum(f"{bar.day}: own", loose >= 0, True)
            planned = bar.clients + loose + bar.free
            yield Sum(f"{bar.day}: clients, own and free", planned, days.bench(bar.day))
            yield Sum(f"{bar.day}: appointments", bar.appointments, len(days.appointments[bar.day]))
            done = (bar.done_clients, bar.done_own, bar.done_releases)
            yield Sum(f"{bar.day}: sewn", done, sewn[bar.day])
        for day in sheet.days:
            drawn = sum(part.minutes for part in day.parts)
            yield Sum(f"{day.bar.day}: drawn", drawn, day.bar.whole)
        own = sheet.own
        yield Sum(f"{name}: own hours kept", own.target, _kept(days, rules, monday))
        yield Sum(f"{name}: kept", own.target + own.more, own.sewn + own.fits + own.lost)
        yield Sum(f"{name}: own in the chart", sheet.bars.own, own.sewn + own.fits)
        yield Sum(f"{name}: own hours on their page", rows[place].own, own)
        glances = {week.monday: (week.bars.own, week.own) for week in sheet.ahead}
        yield Sum(f"{name}: at a glance", glances.get(monday), (sheet.bars.own, own))
        if not place:
            yield from _this_week(studio, week, sheet, days)


def _this_week(studio: Profile, week: StudioWeek, sheet: WeekSheet, days: _Days) -> Iterator[Sum]:
    """What clients need at the least and own hours that still fit have room beside each other."""
    bench = sum(days.bench(bar.day) for bar in sheet.bars.days)
    placed = sum(len(days.placed[bar.day]) for bar in sheet.bars.days)
    if sheet.due and not sheet.due.overfull:
        least, loose = sheet.due.minutes, sheet.own.fits - placed
        yield Sum("This week: room for clients and own hours", least + loose <= bench, True)
        yield Sum("This week: left beside clients", sheet.due.free, bench - least)
    spare = spare_sheet(studio)
    yield Sum("What fits: own hours", spare.own, sheet.own.fits)
    yield Sum("What fits: own and free", spare.free, sheet.own.fits + sheet.bars.free)
    taken = HoursTaken.objects.filter(monday=sheet.monday).values_list("minutes", flat=True)
    yield Sum("This week: taken by clients", sheet.taken_minutes, sum(taken))


def _kept(days: _Days, rules: PlanRules, monday: date) -> int:
    chosen = OwnWeek.objects.filter(monday=monday).first()
    if chosen:
        return chosen.minutes
    open_days = [monday + timedelta(days=ahead) for ahead in range(7)]
    minutes = sum(
        days.shifts[day.weekday()].minutes
        for day in open_days
        if day.weekday() in days.shifts and day not in days.closed
    )
    return minutes * rules.own_percent // 100


def _sewn(times: Any) -> dict[date, tuple[int, int, int]]:
    """Minutes for clients, own and for releases, by local day."""
    purposes = [BenchTime.Purpose.CLIENT, BenchTime.Purpose.OWN, BenchTime.Purpose.RELEASE]
    days: dict[date, tuple[int, int, int]] = defaultdict(lambda: (0, 0, 0))
    for row in times.filter(minutes__isnull=False):
        day, place = clock.local(row.started_at).date(), purposes.index(row.purpose)
        before = days[day]
        days[day] = (*before[:place], before[place] + row.minutes, *before[place + 1 :])
    return days


def year_sums() -> Iterator[Sum]:
    """Year = weeks = ledger, for every year in which something was timed or taken."""
    sewn = _sewn(BenchTime.objects.all())
    taken = list(HoursTaken.objects.values_list("monday", "minutes"))
    for year in sorted({day.year for day in sewn} | {monday.year for monday, _ in taken}):
        whole = tuple(sum(row) for row in zip(*_of_year(sewn, year), strict=True)) or (0, 0, 0)
        first, last = date(year, 1, 1), date(year, 12, 31)
        spent = spent_by_year(spent_by_day(first, last)).get(year)
        said = (spent.client, spent.own, spent.release) if spent else (0, 0, 0)
        yield Sum(f"{year}: sewn", said, whole)
        weeks = spent_by_week(year).values()
        said = tuple(sum(getattr(w, n) for w in weeks) for n in ("client", "own", "release"))
        yield Sum(f"{year}: sewn, week by week", said, whole)
        yield Sum(f"{year}: sewn for the owner", own_year(year).sewn, whole[1] + whole[2])
        lost = sum(minutes for monday, minutes in taken if monday.year == year)
        ledger_says = (own_year(year).taken, taken_in(year).minutes)
        yield Sum(f"{year}: own hours taken", ledger_says, (lost, lost))
    this = coming_mondays()[0]
    for monday in sorted({day - timedelta(days=day.weekday()) for day in sewn}):
        if monday < this:
            bars, days = past_week(monday).bars, [monday + timedelta(days=n) for n in range(7)]
            rows = tuple(sum(row) for row in zip(*(sewn[day] for day in days), strict=True))
            said = (bars.clients, bars.own, bars.releases)
            yield Sum(f"Week of {monday}: sewn", said, rows)


def _of_year(sewn: dict[date, tuple[int, int, int]], year: int) -> list[tuple[int, int, int]]:
    return [minutes for day, minutes in sewn.items() if day.year == year]


def money_sums() -> Iterator[Sum]:
    """Tickets = invoices = payments = balances = ledger."""
    ever = date(1900, 1, 1), date(2999, 12, 31)
    invoices, payments = list(Invoice.objects.all()), list(Payment.objects.all())
    credited: dict[int, int] = defaultdict(int)
    taken_back = set()
    for note in invoices:
        if note.refers_to_id:
            credited[note.refers_to_id] += note.gross
            taken_back |= set() if note.part else {note.refers_to_id}
    paid: dict[int, int] = defaultdict(int)
    for payment in payments:
        paid[payment.ticket_id] += payment.amount
    open_gross: dict[int, list[int]] = defaultdict(list)
    less: dict[int, int] = defaultdict(int)
    for invoice in invoices:
        rows = [*invoice.data["lines"], *invoice.data["adjustments"]]
        lines = tuple(sum(row[name] for row in rows) for name in ("net", "tax", "gross"))
        yield Sum(invoice.number, (invoice.net, invoice.tax, invoice.gross), lines)
        yield Sum(f"{invoice.number}: with tax", invoice.gross, invoice.net + invoice.tax)
        if invoice.kind == Invoice.Kind.CREDIT:
            continue
        left = invoice.gross + credited[invoice.pk]
        if invoice.pk in taken_back:
            yield Sum(f"{invoice.number}: left of what was taken back", left, 0)
        else:
            yield Sum(f"{invoice.number}: credited no more than it was", left >= 0, True)
            open_gross[invoice.ticket_id].append(invoice.gross)
            less[invoice.ticket_id] -= credited[invoice.pk]
    owed = 0
    for ticket in with_balances(Ticket.objects.prefetch_related("agreements")):
        agreed = max(ticket.agreements.all(), key=lambda row: row.version).data
        rows = [line for garment in agreed["garments"] for line in garment["lines"]]
        whole = sum(row["gross"] for row in [*rows, *agreed["adjustments"]])
        yield Sum(f"{ticket}: agreed", ticket.gross, whole)
        for gross in open_gross[ticket.pk]:
            yield Sum(f"{ticket}: invoiced", gross, ticket.gross)
        owes = 0 if ticket.state == State.CANCELLED else ticket.gross - less[ticket.pk]
        yield Sum(f"{ticket}: paid", ticket.paid, paid[ticket.pk])
        yield Sum(f"{ticket}: to pay", ticket.balance, owes - paid[ticket.pk])
        owed += owes - paid[ticket.pk]
    said = open_money()
    yield Sum("To pay in all", said.owed - said.to_give_back, owed)
    taken, net = sum(paid.values()), sum(invoice.net for invoice in invoices)
    yield Sum("Taken in all", taken_between(*ever).all.total, taken)
    yield Sum("Invoiced in all", invoiced_between(*ever).net, net)
    book = ledger(*ever)
    yield Sum("Ledger: paid", sum(row.paid or 0 for row in book), taken)
    yield Sum("Ledger: without tax", sum(row.net or 0 for row in book), net)


def cloth_sums() -> Iterator[Sum]:
    """Cloth in - out = what lies on the shelf."""
    left: dict[int, Decimal] = defaultdict(Decimal)
    for cloth, mm in ClothMove.objects.values_list("cloth", "mm"):
        left[cloth] += mm
    for row in Cloth.objects.all():
        yield Sum(f"{row}: left", row.left_mm, left[row.pk])
    here = [left[pk] for pk in Cloth.objects.filter(gone_at=None).values_list("pk", flat=True)]
    yield Sum("On the shelf", on_the_shelf(), (len(here), sum(here, Decimal(0))))
    years = cloth_years()
    yield Sum("Years of cloth", years[0].left if years else 0, sum(left.values(), Decimal(0)))
