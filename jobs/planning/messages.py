"""Messages to a client about work that waits and fittings that were missed."""

from dataclasses import dataclass
from datetime import date, datetime

from jobs.planning.models import Fitting, Wait
from jobs.tickets.messages import ClientMessage, draft
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.models import Profile
from studio.shop.words import Words, words_for


def about_wait(wait: Wait, studio: Profile, *, note: bool = False) -> ClientMessage:
    """The owner's note, which may be meant for nobody else, goes into it only with ``note``."""
    ticket = wait.line.garment.ticket
    words = words_for(ticket.client.language, studio)
    return draft(
        ticket,
        wait_text(wait, words, note=note),
        words,
        studio,
        about=wait,
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
    words = words_for(ticket.client.language, studio)
    text = words(
        "Your ticket {number}: we missed you at the fitting on {when}. "
        "Please tell us which day suits you.",
        number=ticket.number, when=words.when(fitting.starts_at),
    )  # fmt: skip
    missed = clock.local(fitting.starts_at).date()
    return draft(ticket, text, words, studio, about=fitting, days=_days(missed))


def about_fitting(fitting: Fitting, studio: Profile) -> ClientMessage:
    """When the client is expected."""
    text = "Your ticket {number}: fitting on {when}. Answer if that does not suit you."
    return _about_fitting(fitting, studio, text)


def about_fitting_soon(fitting: Fitting, studio: Profile) -> ClientMessage:
    """A reminder, which says how to move it: that is what makes it worth sending."""
    text = "Your ticket {number}: we expect you on {when}. Answer if you have to move it."
    return _about_fitting(fitting, studio, text)


def _about_fitting(fitting: Fitting, studio: Profile, text: str) -> ClientMessage:
    ticket = fitting.ticket
    words = words_for(ticket.client.language, studio)
    sentences = words(text, number=ticket.number, when=words.when(fitting.starts_at))
    return draft(ticket, sentences, words, studio, about=fitting)


def about_new_day(ticket: Ticket, was: datetime, studio: Profile) -> ClientMessage:
    """The promise has moved from what it ``was`` to what the ticket says."""
    words = words_for(ticket.client.language, studio)
    new, old = (words.day(clock.local(at).date()) for at in (ticket.promise_at, was))
    text = words(
        "Your ticket {number}: it will be ready by {new}, not by {old}. "
        "We are sorry. Does that suit you?",
        number=ticket.number, new=new, old=old,
    )  # fmt: skip
    return draft(ticket, text, words, studio)


def wait_text(wait: Wait, words: Words, *, note: bool = False) -> str:
    """A message in whole sentences. With ``note`` the owner's words stand in it between quotation
    marks as they were written, so that it reads well with any."""
    what = {
        Wait.What.CLIENT: words("we have a question"),
        Wait.What.PART: _part(wait, words),
        Wait.What.WASHING: words("it has to be washed before we can resume"),
        Wait.What.SHOES: words(
            "please bring the shoes it will be worn with, so that we can mark it"
        ),
    }[Wait.What(wait.what)]
    quoted = f": \N{LEFT DOUBLE QUOTATION MARK}{wait.question}\N{RIGHT DOUBLE QUOTATION MARK}"
    work = words.named(wait.line.name)
    work = work.lower() if words.is_english else work
    piece = f"{words.garment(wait.line.garment.words)}: {work}"
    text = words(
        "Your ticket {number} ({piece}): {what}.",
        number=wait.line.garment.ticket.number,
        piece=piece,
        what=what + (quoted if note and wait.question else ""),
    )
    if wait.what == Wait.What.CLIENT:
        text += " " + words("Please let us know: we resume as soon as we have your answer.")
    return text


def _part(wait: Wait, words: Words) -> str:
    if wait.expected is None:
        return words("we are waiting for a part")
    day = words.day(wait.expected, year=False)
    return words("we are waiting for a part, expected on {day}", day=day)


def _days(since: date) -> int:
    return (clock.today() - since).days
