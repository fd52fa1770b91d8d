"""Messages to a client about a ticket, drafted, and the links that send them."""

from dataclasses import dataclass

from django.db.models import Model
from django.urls import reverse

from clients.contact import ContactLink
from jobs.tickets.models import ClientPage, Ticket
from studio.shop import clock
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
    subject: str = ""

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
    return ClientMessage(about or ticket, ticket, text, links, days, late, words.tag, subject)


def about_ready(ticket: Ticket, studio: Profile) -> ClientMessage:
    """It may be collected; with the address of the client's page while that is open."""
    words = words_for(ticket.client.language, studio)
    text = words("Your ticket {number} is ready to collect.", number=ticket.number)
    if link := client_link(ticket, studio):
        text += " " + words("How it stands: {address}", address=link)
    return draft(ticket, text, words, studio)


def about_not_collected(ticket: Ticket, studio: Profile) -> ClientMessage:
    """It has been ready for long."""
    words = words_for(ticket.client.language, studio)
    text = words(
        "Your ticket {number} has been ready since {day}. Please collect it, or tell us when you "
        "can.",
        number=ticket.number, day=words.day(clock.local(ticket.ready_at or clock.now())),
    )  # fmt: skip
    return draft(ticket, text, words, studio)


def client_link(ticket: Ticket, studio: Profile) -> str:
    """Where the client sees how it stands; empty where there is no such page. A query, or none."""
    if not studio.page_address:
        return ""
    page = getattr(ticket, "client_page", None)
    return page_address(page, studio) if page else ""


def page_address(page: ClientPage, studio: Profile) -> str:
    if not (studio.page_address and page.is_open):
        return ""
    return studio.page_address + reverse("client-page", args=[page.key])


def about_promise(
    ticket: Ticket, studio: Profile, *, figures: bool, link: str = ""
) -> ClientMessage:
    """What was brought in, by when it is ready and, with ``figures``, what it comes to; and the
    ``link`` at which the client sees how it stands."""
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
    if link:
        text += " " + words("How it stands: {address}", address=link)
    return draft(ticket, text, words, studio)
