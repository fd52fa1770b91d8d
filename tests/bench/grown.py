"""A studio that has grown: any number of garments, 8 on 5 tickets, 3 tickets a client."""

from datetime import timedelta
from itertools import product

from django.db import transaction

from clients.models import Client
from jobs.tickets.models import Garment, State, Ticket
from studio.shop import clock
from studio.shop.models import User
from tests import factories

FIRST = ["Ada", "Bríd", "Cléa", "Dara", "Ewa", "Fionn", "Gráinne", "Hana", "Ivo", "Juno"]
LAST_A = ["Ash", "Brook", "Corn", "Down", "Elm", "Fen", "Glen", "Holt", "Ivy", "Juniper"]
LAST_B = ["acre", "bury", "combe", "dale", "ford", "gate", "ham", "ley", "mere", "stead"]
LAST_C = ["", " Bán", " Dubh", " Mór"]
NAMES = [f"{first} {a}{b}{c}" for c, b, a, first in product(LAST_C, LAST_B, LAST_A, FIRST)]
GARMENTS_PER_TICKET = [2, 1, 2, 1, 2]
STILL_OPEN = 40


@transaction.atomic
def grow(garments: int, owner: User) -> list[Ticket]:
    """Fill an empty studio; the last tickets are still open. Gives the tickets, oldest first."""
    tickets, pieces = [], []
    count = 0
    while sum(pieces) < garments:
        pieces.append(GARMENTS_PER_TICKET[count % 5])
        count += 1
    clients = [client_number(index) for index in range(max(1, count // 3))]
    start = clock.now() - timedelta(hours=count)
    for index in range(count):
        moment = start + timedelta(hours=index)
        state = State.RECEIVED if index >= count - STILL_OPEN else State.COLLECTED
        tickets.append(
            factories.TicketFactory.build(
                number=f"{moment:%y}-{index + 1:04d}",
                client=clients[index % len(clients)],
                received_at=moment,
                received_by=owner,
                promise_at=moment + timedelta(days=7),
                state=state,
            )
        )
    Ticket.objects.bulk_create(tickets, batch_size=500)
    Garment.objects.bulk_create(
        [
            Garment(ticket=ticket, letter="AB"[letter], kind_name="Trousers", colour="navy")
            for ticket, number in zip(tickets, pieces, strict=True)
            for letter in range(number)
        ],
        batch_size=500,
    )
    return tickets


def client_number(index: int) -> Client:
    again, name = divmod(index, len(NAMES))
    return factories.ClientFactory(
        name=NAMES[name] + (f" {again + 1}" if again else ""),
        phone=f"085 {index // 10000:03d} {(index * 7) % 10000:04d}",
    )
