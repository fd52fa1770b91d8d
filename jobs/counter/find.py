"""What was typed or scanned into the one box: a ticket's number, its address, or a client."""

import re
from dataclasses import dataclass, field

from django.db.models import Prefetch, prefetch_related_objects

from clients.models import Client
from clients.queries import find_clients
from jobs.tickets.models import Ticket
from jobs.tickets.queries import ticket_list
from studio.shop import clock

MOST_CLIENTS = 12
YEARS = 50
ADDRESS = re.compile(r"/t/(\d{2}-\d{4,})(?:-[a-z]{1,3})?(?:[/?#]|$)", re.IGNORECASE | re.ASCII)
CLIENT_PAGE = re.compile(r"/c/([\w-]{40,64})(?:[/?#]|$)", re.ASCII)
NUMBER = re.compile(
    r"(?:(\d{2})\s*-\s*)?(\d{1,6})(?:\s*-?\s*[a-z]{1,3})?", re.IGNORECASE | re.ASCII
)

WHOLE_NUMBER = re.compile(r"(?:\d{2}-)?\d{4}", re.ASCII)


@dataclass
class FindResult:
    """Tickets whose number fits, newest first, and clients.

    A client's ``tickets.all()`` holds the open ones, without asking the database again.
    """

    typed: str = ""
    tickets: list[Ticket] = field(default_factory=list)
    clients: list[Client] = field(default_factory=list)

    @property
    def whole_number(self) -> bool:
        """Whether what was typed is a ticket's number to its end, and nothing more is expected."""
        return bool(WHOLE_NUMBER.fullmatch(self.typed))

    @property
    def only(self) -> Ticket | None:
        """The one ticket that can be meant: by its number, or as the one client's only open one.

        Numbers start again each year, so of several the only open one is meant. Digits that are
        one client's ticket and another's phone mean neither for certain.
        """
        theirs = {ticket.client_id for ticket in self.tickets}
        if theirs and any(client.pk not in theirs for client in self.clients):
            return None
        tickets = [*self.tickets, *(t for client in self.clients for t in client.tickets.all())]
        still_open = {ticket.pk: ticket for ticket in tickets if ticket.is_open}
        if len(self.tickets) == 1 and not self.clients:
            return self.tickets[0]
        if len(self.clients) <= 1 and len(still_open) == 1:
            return next(iter(still_open.values()))
        return None


def numbers(text: str, year: int) -> list[str]:
    """The ticket numbers that ``text`` can stand for, of this year and the years before it.

    ``26-0143`` is itself; ``0143``, ``143`` and ``143-B`` are ticket 143 of any year; so is a
    scanned address that ends in ``/t/26-0143/``. Words are none.
    """
    text = text.strip()
    if address := ADDRESS.search(text):
        return [address[1]]
    number = NUMBER.fullmatch(text.removeprefix("/"))
    if not number:
        return []
    count = f"{int(number[2]):04d}"
    if number[1]:
        return [f"{number[1]}-{count}"]
    return [f"{past % 100:02d}-{count}" for past in range(year, year - YEARS, -1)]


def search(text: str) -> FindResult:
    """Look for ``text`` among tickets and clients, in a number of queries that does not grow."""
    typed = text.strip().removeprefix("/")
    if not typed:
        return FindResult()
    if scanned := CLIENT_PAGE.search(text):
        return FindResult(typed, list(ticket_list().filter(client_page__key=scanned[1])))
    wanted = numbers(text, clock.today().year)
    tickets = list(ticket_list().filter(number__in=wanted)) if wanted else []
    if ADDRESS.search(text):
        return FindResult(typed, tickets)
    return FindResult(typed, tickets, clients_with_open_tickets(typed))


def clients_with_open_tickets(typed: str) -> list[Client]:
    clients = find_clients(typed, MOST_CLIENTS)
    prefetch_related_objects(clients, Prefetch("tickets", Ticket.objects.open()))
    return clients
