"""The demo studio's week: fittings, waits, appointments, own hours, and minutes at the bench."""

from collections import defaultdict
from datetime import date, datetime, time, timedelta
from random import Random

from jobs.planning import actions as planning
from jobs.planning.book import monday_of
from jobs.planning.models import BenchTime
from jobs.planning.reading import read_shop
from jobs.tickets.models import Line, Ticket
from jobs.tickets.quoting import line_minutes
from studio.demo.life import Life
from studio.demo.shop import WEEK
from studio.shop import clock

OPENS = 9 * 60
QUESTIONS = (
    ("client", "Keep the original hem?", None),
    ("part", "a 60 cm navy zip, ordered", 4),
    ("shoes", "", 6),
    ("washing", "it will shrink", 2),
)


def arrange(life: Life) -> None:
    """What is booked, waited for and kept free around today, and what the clock measured."""
    dice = Random(21)  # noqa: S311 -- a demo needs the same luck every time, not secrets
    bench = list(Ticket.objects.on_the_bench().order_by("promise_at", "pk"))
    _book(life, bench[::-1])
    _hold(life, bench[::3])
    _appoint(life)
    _lose_hours(life)
    _measure(life, dice)


def _book(life: Life, tickets: list[Ticket]) -> None:
    """Fittings on the last, this and the next open days, for tickets that were here by then."""
    shop, today = read_shop(), clock.local(life.now).date()
    ahead = [day for day in _days(today, 14) if shop.is_open(day)]
    last = [day for day in _days(today - timedelta(days=7), 7) if shop.is_open(day)][-1]
    booked = clock.at(last, time(8))
    times = [
        (last, time(11), "first"),
        (ahead[0], time(16), "first"),
        (ahead[1], time(10, 30), "next"),
        (ahead[1], time(15), "first"),
        (ahead[3], time(12), "final"),
    ]
    here = [ticket for ticket in tickets if ticket.received_at < booked]
    fittings = []
    for ticket, (day, hour, kind) in zip(here, times, strict=False):
        with clock.pretend(booked):
            fitting = planning.book_fitting(
                ticket=ticket,
                starts_at=clock.at(day, hour),
                minutes=30,
                kind=kind,
                studio=life.studio,
                by=life.owner,
            )
            fittings.append(fitting)
    with clock.pretend(fittings[0].ends_at):
        planning.miss_fitting(fitting=fittings[0], by=life.owner)


def _hold(life: Life, tickets: list[Ticket]) -> None:
    """Some work waits since one to four days."""
    today = clock.local(life.now).date()
    for back, (ticket, question) in enumerate(zip(tickets, QUESTIONS, strict=False), 1):
        what, words, days = question
        line = Line.objects.filter(garment__ticket=ticket, done_at=None).first()
        expected = today + timedelta(days=days) if days else None
        if line:
            with clock.pretend(max(ticket.received_at, life.now - timedelta(days=back))):
                planning.hold(
                    line=line, what=what, question=words, expected=expected, by=life.owner
                )


def _appoint(life: Life) -> None:
    """The accounts, a visit, and two mornings of the owner's."""
    shop, today = read_shop(), clock.local(life.now).date()
    ahead = [day for day in _days(today + timedelta(days=1), 21) if shop.is_open(day)]
    for day, hour, minutes, kind, name in (
        (ahead[1], time(9), 60, "other", "The accounts"),
        (ahead[2], time(9), 120, "own", "Linen shirt"),
        (ahead[5], time(13), 45, "other", "Visit to the cloth market"),
        (ahead[7], time(9), 120, "own", ""),
    ):
        planning.put_appointment(
            kind=kind,
            name=name,
            starts_at=clock.at(day, hour),
            minutes=minutes,
            studio=life.studio,
        )
    planning.set_own_week(monday=monday_of(today) + timedelta(weeks=3), minutes=240)


def _lose_hours(life: Life) -> None:
    """Each rush took some of the owner's hours of its week; two were not taken on."""
    for ticket in Ticket.objects.filter(rush_percent__gt=0):
        with clock.pretend(ticket.received_at):
            monday = monday_of(clock.local(ticket.received_at).date())
            lost = [(monday, max(15, ticket.minutes // 2))]
            planning.take_hours(ticket=ticket, lost=lost, by=life.owner)
    for back, minutes, note in ((40, 180, "beaded, for the next day"), (12, 240, "three curtains")):
        moment = life.now - timedelta(days=back)
        with clock.pretend(moment):
            wanted = clock.today() + timedelta(days=1)
            planning.decline(wanted_by=wanted, minutes=minutes, note=note, by=life.owner)


def _measure(life: Life, dice: Random) -> None:
    """Most days the clock ran: first for clients, then for the owner, with small gaps."""
    done: dict[date, list[Line]] = defaultdict(list)
    for line in Line.objects.select_related("garment__ticket"):
        if line.done_at:
            done[clock.local(line.done_at).date()].append(line)
    today = clock.local(life.now).date()
    rows: list[BenchTime] = []
    for day in _days(today - timedelta(days=200), 201):
        open_minutes = WEEK[day.weekday()]
        if open_minutes and (dice.random() < 0.7 or day >= monday_of(today)):
            rows += _day(day, open_minutes, done[day], life, dice)
    BenchTime.objects.bulk_create(row for row in rows if _ends(row) < life.now)


def _day(
    day: date, open_minutes: int, lines: list[Line], life: Life, dice: Random
) -> list[BenchTime]:
    """One day at the bench. Work takes about what was agreed, now and then far longer."""
    rows, at, closes = [], OPENS + dice.randrange(2, 15), OPENS + open_minutes
    purposes = ["own"] if day >= monday_of(clock.local(life.now).date()) else ["own", "release"] * 4
    while at < closes - 20 and (lines or purposes):
        line = lines.pop(0) if lines else None
        if line:
            minutes = max(4, round(line_minutes(line) * dice.lognormvariate(0.08, 0.35)))
        else:
            minutes = dice.randrange(45, 110)
        row = BenchTime(
            purpose="client" if line else purposes.pop(0),
            line=line,
            started_at=clock.at(day, time(*divmod(at, 60))),
            minutes=min(minutes, closes - at),
            by=life.owner,
        )
        rows.append(row)
        at += minutes + dice.randrange(3, 14)
    return rows


def _ends(row: BenchTime) -> datetime:
    return row.started_at + timedelta(minutes=row.minutes or 0)


def _days(first: date, count: int) -> list[date]:
    return [first + timedelta(days=ahead) for ahead in range(count)]
