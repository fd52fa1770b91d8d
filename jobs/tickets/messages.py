"""Messages to a client about a ticket, drafted, and the links that send them."""

from dataclasses import dataclass

from django.db.models import Model

from clients.contact import ContactLink
from jobs.tickets.models import Ticket
from studio.shop.locales import show_clock, show_day
from studio.shop.models import Profile
from studio.shop.money import format_money


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

    @property
    def way(self) -> ContactLink | None:
        """The way to send it: the one the client likes best, else one that carries the text."""
        liked = [link for link in self.links if link.liked]
        written = [link for link in self.links if not link.href.startswith("tel:")]
        return next(iter([*liked, *written]), None)


def opening(ticket: Ticket) -> str:
    """How every message begins."""
    return f"Your ticket {ticket.number}"


def about_ready(ticket: Ticket, studio: Profile) -> ClientMessage:
    """It may be collected."""
    text = f"{opening(ticket)} is ready to collect. {studio.name}"
    return ClientMessage(ticket, ticket, text, contact_links(ticket, text, studio), 0)


def about_promise(ticket: Ticket, studio: Profile, *, figures: bool) -> ClientMessage:
    """What was brought in, by when it is ready and, with ``figures``, what it comes to."""
    day = show_day(ticket.promise_at, studio.locale)
    hour = show_clock(ticket.promise_at, studio.locale)
    pieces = len(ticket.garments.all())
    text = f"{opening(ticket)}: {pieces} garment{'s' * (pieces != 1)}, ready by {day}, {hour}."
    if figures:
        text += f" Total {format_money(ticket.gross, ticket.currency, studio.locale)}."
    text += f" {studio.name}"
    return ClientMessage(ticket, ticket, text, contact_links(ticket, text, studio), 0)


def contact_links(ticket: Ticket, text: str, studio: Profile) -> list[ContactLink]:
    """The ways to send this text to the ticket's client."""
    subject = f"{opening(ticket)}, {studio.name}"
    return ticket.client.contact_links(text, subject)
