"""Messages to a client about work that waits and fittings that were missed."""

from datetime import date

from jobs.planning.models import Fitting, Wait
from jobs.tickets.messages import ClientMessage, contact_links, opening
from studio.shop import clock
from studio.shop.locales import show_day, show_when
from studio.shop.models import Profile


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
        f"{opening(ticket)}: we missed you at the fitting on {when}. "
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
    return f"{opening(garment.ticket)} ({piece}): {sentence.strip()} {studio.name}"


def _expected(wait: Wait, studio: Profile) -> str:
    if wait.expected is None:
        return ""
    return f", expected on {show_day(wait.expected, studio.locale, year=False)}"


def _days(since: date) -> int:
    return (clock.today() - since).days
