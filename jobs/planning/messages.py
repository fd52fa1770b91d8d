"""Messages to a client about work that waits and fittings that were missed."""

from dataclasses import dataclass
from datetime import date, datetime

from jobs.planning.models import Fitting, Wait
from jobs.tickets.messages import ClientMessage, contact_links, opening
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.locales import show_day, show_when
from studio.shop.models import Profile


def about_wait(wait: Wait, studio: Profile, *, note: bool = False) -> ClientMessage:
    """The owner's note, which may be meant for nobody else, goes into it only with ``note``."""
    ticket, text = wait.line.garment.ticket, wait_text(wait, studio, note=note)
    return ClientMessage(
        about=wait,
        ticket=ticket,
        text=text,
        links=contact_links(ticket, text, studio),
        days=_days(clock.local(wait.since).date()),
        late=wait.expected is not None and wait.expected < clock.today(),
    )


@dataclass(frozen=True)
class WaitMessages:
    """What to write to a client about work that waits, and the same with the owner's note, if
    there is one."""

    plain: ClientMessage
    noted: ClientMessage | None

    @classmethod
    def of(cls, wait: Wait, studio: Profile) -> "WaitMessages":
        noted = about_wait(wait, studio, note=True) if wait.question else None
        return cls(about_wait(wait, studio), noted)


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


def about_new_day(ticket: Ticket, was: datetime, studio: Profile) -> ClientMessage:
    """The promise has moved from what it ``was`` to what the ticket says."""
    new, old = (show_day(clock.local(at).date(), studio.locale) for at in (ticket.promise_at, was))
    text = (
        f"{opening(ticket)}: it will be ready by {new}, not by {old}. "
        f"We are sorry. Does that suit you? {studio.name}"
    )
    return ClientMessage(ticket, ticket, text, contact_links(ticket, text, studio), 0)


def wait_text(wait: Wait, studio: Profile, *, note: bool = False) -> str:
    """A message in whole sentences. With ``note`` the owner's words stand in it between quotation
    marks as they were written, so that it reads well with any."""
    what = {
        Wait.What.CLIENT: "we have a question",
        Wait.What.PART: f"we are waiting for a part{_expected(wait, studio)}",
        Wait.What.WASHING: "it has to be washed before we can resume",
        Wait.What.SHOES: "please bring the shoes it will be worn with, so that we can mark it",
    }[Wait.What(wait.what)]
    quoted = f": \N{LEFT DOUBLE QUOTATION MARK}{wait.question}\N{RIGHT DOUBLE QUOTATION MARK}"
    answer = ""
    if wait.what == Wait.What.CLIENT:
        answer = " Please let us know: we resume as soon as we have your answer."
    piece = f"{wait.line.garment.words}: {wait.line.name.lower()}"
    said = what + (quoted if note and wait.question else "")
    return f"{opening(wait.line.garment.ticket)} ({piece}): {said}.{answer} {studio.name}"


def _expected(wait: Wait, studio: Profile) -> str:
    if wait.expected is None:
        return ""
    return f", expected on {show_day(wait.expected, studio.locale, year=False)}"


def _days(since: date) -> int:
    return (clock.today() - since).days
