"""Messages to a client about a ticket, drafted, and the links that send them."""

from dataclasses import dataclass

from django.db.models import Model

from clients.contact import ContactLink
from jobs.tickets.models import Ticket
from studio.shop.models import Profile
from studio.shop.words import Words, words_for


@dataclass(frozen=True)
class ClientMessage:
    """A message about one row, such as a fitting that was missed, with the links that send it.

    ``days`` are local days since it began; ``late`` says that it was expected before today.
    ``language`` is a BCP 47 tag.
    """

    about: Model
    ticket: Ticket
    text: str
    links: list[ContactLink]
    days: int
    late: bool = False
    language: str = "en"

    @property
    def way(self) -> ContactLink | None:
        """The way to send it: the one the client likes best, else one that carries the text."""
        liked = [link for link in self.links if link.liked]
        written = [link for link in self.links if not link.href.startswith("tel:")]
        return next(iter([*liked, *written]), None)


def draft(
    ticket: Ticket,
    sentences: str,
    words: Words,
    studio: Profile,
    *,
    about: Model | None = None,
    days: int = 0,
    late: bool = False,
) -> ClientMessage:
    """A message of whole sentences, signed with the studio's name, and the ways to send it."""
    text = f"{sentences} {studio.name}"
    subject = f"{words('Your ticket {number}', number=ticket.number)}, {studio.name}"
    links = ticket.client.contact_links(text, subject)
    return ClientMessage(about or ticket, ticket, text, links, days, late, words.tag)


def about_ready(ticket: Ticket, studio: Profile) -> ClientMessage:
    """It may be collected."""
    words = words_for(ticket.client.language, studio)
    text = words("Your ticket {number} is ready to collect.", number=ticket.number)
    return draft(ticket, text, words, studio)


def about_promise(ticket: Ticket, studio: Profile, *, figures: bool) -> ClientMessage:
    """What was brought in, by when it is ready and, with ``figures``, what it comes to."""
    words = words_for(ticket.client.language, studio)
    text = words(
        "Your ticket {number}: {count} garment, ready by {day}, {time}.",
        "Your ticket {number}: {count} garments, ready by {day}, {time}.",
        number=ticket.number,
        count=len(ticket.garments.all()),
        day=words.day(ticket.promise_at),
        time=words.clock(ticket.promise_at),
    )
    if figures:
        text += " " + words("Total {amount}.", amount=words.money(ticket.gross, ticket.currency))
    return draft(ticket, text, words, studio)
