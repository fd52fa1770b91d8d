"""A studio with a full bench and years behind it, made by the thousand."""

from datetime import date, datetime, time, timedelta

from django.db import transaction

from clients.models import Client
from jobs.planning.models import AfterFitting, BenchTime, Fitting, HoursTaken, OwnWeek, Wait
from jobs.planning.plan.book import monday_of
from jobs.pricing.models import WorkOrder
from jobs.tickets.models import Garment, Line, State, Ticket
from jobs.tickets.quoting import line_minutes
from studio.shop import clock
from studio.shop.models import User
from tests import factories
from tests.bench.grown import GARMENTS_PER_TICKET, client_number

A_DAY = 5
"""Tickets promised for each working day."""
BY = time(17)
PIECES_OF_WORK = [("Take in sides", WorkOrder.BODY, 25), ("Hem", WorkOrder.HEM, 20)]
LINED = {
    "name": "Lined",
    "percent": "25.000",
    "amount": 0,
    "minutes_percent": "25.000",
    "minutes": 0,
}


@transaction.atomic
def fill_bench(tickets: int, owner: User, *, years: int = 0) -> None:
    """So many open tickets, five promised for each working day from today on.

    Every tenth waits for its client and every fifteenth has a fitting before its hem. ``years`` is
    how long the same studio has been working before, five tickets on each working day.
    """
    clients = [client_number(index) for index in range(max(1, tickets // 3))]
    today = clock.today()
    if years:
        days = working_days(today - timedelta(days=365 * years), today)
        past = make_tickets(days, clients, owner, State.COLLECTED, "H")
        make_history(past, owner)
    ahead = working_days(today, today + timedelta(days=tickets // A_DAY * 2 + 7))
    current = make_tickets(ahead[: tickets // A_DAY], clients, owner, State.RECEIVED, "N")
    hold_some(current, owner)
    make_ready(clients, owner)


def working_days(first: date, end: date) -> list[date]:
    days = [first + timedelta(days=ahead) for ahead in range((end - first).days)]
    return [day for day in days if day.weekday() < 5]


def make_tickets(
    days: list[date], clients: list[Client], owner: User, state: str, prefix: str
) -> list[Line]:
    """Five tickets promised for each day, with garments and lines. Gives the lines."""
    done = state != State.RECEIVED
    tickets, garments, lines = [], [], []
    for count in range(len(days) * A_DAY):
        promised = clock.at(days[count // A_DAY], BY)
        ticket = factories.TicketFactory.build(
            number=f"{prefix}{count + 1:05d}",
            client=clients[count % len(clients)],
            received_at=promised - timedelta(days=14),
            received_by=owner,
            promise_at=promised,
            state=state,
            ready_at=promised if done else None,
            collected_at=promised if state == State.COLLECTED else None,
        )
        tickets.append(ticket)
        before = len(lines)
        for letter in "AB"[: GARMENTS_PER_TICKET[count % 5]]:
            garment = Garment(ticket=ticket, letter=letter, kind_name="Trousers", colour="navy")
            garments.append(garment)
            lines += [
                Line(
                    garment=garment,
                    name=name,
                    unit_price=2400,
                    minutes_each=minutes,
                    work_order=order,
                    surcharges=[LINED] if count % 4 == 0 else [],
                    fitting_first=count % 15 == 7 and order == WorkOrder.HEM,
                    done_at=promised - timedelta(hours=3) if done else None,
                    done_by=owner if done else None,
                )
                for name, order, minutes in PIECES_OF_WORK[count % 3 == 0 :]
            ]
        ticket.minutes = sum(line_minutes(line) for line in lines[before:])
    Ticket.objects.bulk_create(tickets, batch_size=500)
    Garment.objects.bulk_create(garments, batch_size=500)
    return Line.objects.bulk_create(lines, batch_size=500)


def make_history(lines: list[Line], owner: User) -> None:
    """Every line was timed, every fifteenth ticket fitted, and own hours were sewn and taken."""
    BenchTime.objects.bulk_create(
        [
            BenchTime(
                line=line,
                started_at=line.done_at - timedelta(minutes=line.minutes_each),
                minutes=line.minutes_each,
                by=owner,
            )
            for line in lines
        ],
        batch_size=500,
    )
    tickets = {line.garment.ticket_id: line.garment.ticket for line in lines}
    mondays = sorted({monday_of(ticket.promise_at.date()) for ticket in tickets.values()})
    ordered = list(tickets.values())
    Fitting.objects.bulk_create(
        [
            Fitting(
                ticket=ticket,
                starts_at=ticket.promise_at - timedelta(days=4, hours=3),
                state=Fitting.State.MISSED if count % 8 == 0 else Fitting.State.KEPT,
            )
            for count, ticket in enumerate(ordered[::15])
        ],
        batch_size=500,
    )
    Wait.objects.bulk_create(
        [
            Wait(
                line=line,
                what=Wait.What.CLIENT,
                since=line.done_at - timedelta(days=5),
                ended_at=line.done_at - timedelta(days=2),
                by=owner,
            )
            for line in lines[::20]
        ],
        batch_size=500,
    )
    OwnWeek.objects.bulk_create([OwnWeek(monday=monday, minutes=600) for monday in mondays[::4]])
    HoursTaken.objects.bulk_create(
        [
            HoursTaken(
                ticket=ordered[count * A_DAY * 5],
                monday=monday,
                minutes=45,
                at=clock.at(monday, BY),
                by=owner,
            )
            for count, monday in enumerate(mondays[:-1])
        ]
    )
    BenchTime.objects.bulk_create(
        [
            BenchTime(
                purpose=BenchTime.Purpose.OWN,
                started_at=clock.at(monday + timedelta(days=2), time(16)),
                minutes=90,
                by=owner,
            )
            for monday in mondays
        ]
    )


def hold_some(lines: list[Line], owner: User) -> None:
    """Some of the open work waits, some comes after a fitting."""
    now = clock.now()
    tickets = list({line.garment.ticket_id: line.garment.ticket for line in lines}.values())
    Wait.objects.bulk_create(
        Wait(line=line, what=Wait.What.CLIENT, question="How short?", since=now, by=owner)
        for line in lines[::25]
    )
    fittings = {
        ticket.pk: Fitting(ticket=ticket, starts_at=_fitting_at(ticket.promise_at))
        for ticket in tickets[22::15]
    }
    Fitting.objects.bulk_create(fittings.values())
    AfterFitting.objects.bulk_create(
        AfterFitting(line=line, fitting=fittings[line.garment.ticket_id])
        for line in lines
        if line.fitting_first and line.garment.ticket_id in fittings
    )


def _fitting_at(promise: datetime) -> datetime:
    """The morning two working days before."""
    day = clock.local(promise).date() - timedelta(days=2)
    while day.weekday() > 4:
        day -= timedelta(days=1)
    return clock.at(day, time(11))


def make_ready(clients: list[Client], owner: User) -> None:
    """Ten ready tickets wait to be collected."""
    days = working_days(clock.today() - timedelta(days=7), clock.today())[:2]
    make_tickets(days, clients, owner, State.READY, "R")
