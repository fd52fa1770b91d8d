"""Messages to a client about work that waits, drafted, and the links that send them."""

from dataclasses import dataclass
from datetime import date
from urllib.parse import quote

from clients.models import Client
from jobs.planning.models import Fitting, Wait
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.locales import show_day, show_when
from studio.shop.models import Profile


@dataclass(frozen=True)
class ContactLink:
    """One way to reach a client; the way they like best is marked."""

    words: str
    href: str
    liked: bool


@dataclass(frozen=True)
class ClientMessage:
    """A message about one thing that is waited for, with the links that send it.

    ``days`` are local days since it began; ``late`` says that it was expected before today.
    """

    about: Wait | Fitting
    ticket: Ticket
    text: str
    links: list[ContactLink]
    days: int
    late: bool = False


def about_wait(wait: Wait, studio: Profile) -> ClientMessage:
    ticket, text = wait.line.garment.ticket, wait_text(wait, studio)
    return ClientMessage(
        about=wait,
        ticket=ticket,
        text=text,
        links=contact_links(ticket, text, studio),
        days=_days(clock.local(wait.since).date()),
        late=wait.expected is not None and wait.expected < clock.today(),
    )


def about_missed_fitting(fitting: Fitting, studio: Profile) -> ClientMessage:
    """A missed fitting: the client is asked for another day."""
    ticket = fitting.ticket
    when = show_when(fitting.starts_at, studio.locale)
    text = (
        f"{_about(ticket)}: we missed you at the fitting on {when}. "
        f"Please tell us which day suits you. {studio.name}"
    )
    missed = clock.local(fitting.starts_at).date()
    return ClientMessage(fitting, ticket, text, contact_links(ticket, text, studio), _days(missed))


def wait_text(wait: Wait, studio: Profile) -> str:
    """A message in whole sentences; the owner's question stands in it as it was written."""
    garment = wait.line.garment
    piece = f"{garment}, {wait.line.name.lower()}"
    question = wait.question
    sentence = {
        Wait.What.CLIENT: f"{question or 'we have a question.'} Please let us know: "
        "we go on as soon as we have your answer.",
        Wait.What.PART: f"we are waiting for {question or 'a part'}{_expected(wait, studio)}.",
        Wait.What.WASHING: "it has to be washed before we can go on. " + question,
        Wait.What.SHOES: "please bring the shoes it will be worn with, so that we can mark it. "
        + question,
    }[Wait.What(wait.what)]
    return f"{_about(garment.ticket)} ({piece}): {sentence.strip()} {studio.name}"


def contact_links(ticket: Ticket, text: str, studio: Profile) -> list[ContactLink]:
    """Links to call, text and mail, the liked one first; those without a number are left out.

    The text goes into ``sms:`` as RFC 5724 has it and into ``mailto:`` as RFC 6068 has it.
    """
    client, subject = ticket.client, f"{_about(ticket)}, {studio.name}"
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


def _about(ticket: Ticket) -> str:
    return f"Your ticket {ticket.number}"


def _expected(wait: Wait, studio: Profile) -> str:
    if wait.expected is None:
        return ""
    return f", expected on {show_day(wait.expected, studio.locale, year=False)}"


def _days(since: date) -> int:
    return (clock.today() - since).days
