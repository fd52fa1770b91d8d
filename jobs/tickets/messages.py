"""Messages to a client about a ticket, drafted, and the links that send them."""

from dataclasses import dataclass
from urllib.parse import quote

from django.db.models import Model

from clients.models import Client
from jobs.tickets.models import Ticket
from studio.shop.models import Profile


@dataclass(frozen=True)
class ContactLink:
    """One way to reach a client; the way they like best is marked."""

    words: str
    href: str
    liked: bool


@dataclass(frozen=True)
class ClientMessage:
    """A message about one row, such as a fitting that was missed, with the links that send it.

    ``days`` are local days since it began; ``late`` says that it was expected before today.
    """

    about: Model
    ticket: Ticket
    text: str
    links: list[ContactLink]
    days: int
    late: bool = False


def opening(ticket: Ticket) -> str:
    """How every message begins."""
    return f"Your ticket {ticket.number}"


def contact_links(ticket: Ticket, text: str, studio: Profile) -> list[ContactLink]:
    """Links to call, text and mail, the liked one first; those without a number are left out.

    The text goes into ``sms:`` as RFC 5724 has it and into ``mailto:`` as RFC 6068 has it.
    """
    client, subject = ticket.client, f"{opening(ticket)}, {studio.name}"
    links = []
    if client.dialled:
        links += [
            (Client.Way.CALL, f"Call {client.phone}", f"tel:{client.dialled}"),
            (Client.Way.TEXT, "Text", f"sms:{client.dialled}?body={quote(text)}"),
        ]
    if client.email:
        address = quote(client.email, safe="@")
        mail = f"mailto:{address}?subject={quote(subject)}&body={quote(text)}"
        links.append((Client.Way.EMAIL, "Mail", mail))
    rows = [ContactLink(words, href, way == client.way) for way, words, href in links]
    return sorted(rows, key=lambda row: not row.liked)
