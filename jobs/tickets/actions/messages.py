"""What a client was told, and the page that they may look at."""

from datetime import timedelta
from secrets import token_urlsafe
from uuid import UUID

from django.db import IntegrityError, transaction

from jobs.tickets import verbs
from jobs.tickets.actions.lock import TicketError, locked
from jobs.tickets.models import ClientPage, MessageKind, SentMessage, Ticket
from studio.shop import clock
from studio.shop.history import note, record
from studio.shop.models import User

KEY_BYTES = 32
TWICE = timedelta(minutes=1)
"""The same message by the same way within this is one that was tapped twice."""
BEING_SENT = "It is being sent, or the program stopped meanwhile: whether it went is not known."


def remember_told(
    *, ticket: Ticket, kind: str, about: str, way: str, text: str, by: User
) -> SentMessage:
    """The client was told, by hand. Tapped twice is told once. Raises TicketError."""
    if kind not in MessageKind.values or way not in SentMessage.Way.values:
        raise TicketError("This message is not known. Open the page afresh.")
    fresh = SentMessage(
        ticket=ticket, kind=kind, about=about[:40], way=way, text=text[:2000], at=clock.now(), by=by
    )
    facts = {"kind": fresh.get_kind_display(), "way": fresh.get_way_display()}
    with record(verbs.TOLD, about=ticket, by=by, **facts) as step:
        locked(ticket)
        same = SentMessage.objects.filter(
            ticket=ticket, kind=kind, about=fresh.about, way=way, wrong="", at__gt=fresh.at - TWICE
        )
        if made := same.first():
            return made
        fresh.save()
        step.add(fresh)
    return fresh


def begin_mail(
    *, ticket: Ticket, kind: str, about: str, text: str, by: User, form_key: UUID
) -> SentMessage | None:
    """Write down what is about to be sent, so that it is lost by nothing; ``end_mail`` says what
    became of it, and tells the history. None where this form has sent it before."""
    if kind not in MessageKind.values:
        raise TicketError("This message is not known. Open the page afresh.")
    try:
        with transaction.atomic():
            locked(ticket)
            return SentMessage.objects.create(
                ticket=ticket, kind=kind, about=about[:40], way=SentMessage.Way.EMAIL,
                text=text[:2000], at=clock.now(), by=by, wrong=BEING_SENT, form_key=form_key,
            )  # fmt: skip
    except IntegrityError:
        return None


def end_mail(*, message: SentMessage, wrong: str, by: User) -> None:
    """It went, or ``wrong`` says why not."""
    verb = verbs.NOT_MAILED if wrong else verbs.MAILED
    facts = {"kind": message.get_kind_display()} | ({"why": wrong} if wrong else {})
    with record(verb, about=message.ticket, by=by, **facts) as step:
        step.keep(message)
        message.wrong, message.at = wrong[:300], clock.now()
        message.save(update_fields=["wrong", "at"])


# The history tells that a page was opened or closed, never the key that opens it.


@transaction.atomic
def open_client_page(*, ticket: Ticket, by: User) -> ClientPage:
    """The client may look at it from now on. The same address where it is open already."""
    locked(ticket)
    page = ClientPage.objects.filter(ticket=ticket).first()
    if page and page.is_open:
        return page
    note(verbs.PAGE_OPENED, about=ticket, by=by)
    return _with_new_key(ticket)


@transaction.atomic
def renew_client_page(*, ticket: Ticket, by: User) -> ClientPage:
    """Another address; whoever has the one before sees nothing any more."""
    locked(ticket)
    note(verbs.PAGE_RENEWED, about=ticket, by=by)
    return _with_new_key(ticket)


def _with_new_key(ticket: Ticket) -> ClientPage:
    facts = {"key": token_urlsafe(KEY_BYTES), "made_at": clock.now(), "closed_at": None}
    page, _ = ClientPage.objects.update_or_create(ticket=ticket, defaults=facts)
    return page


def close_client_page(*, ticket: Ticket, by: User) -> None:
    """Nobody sees it any more, whatever address they have, unless this is undone. Twice is once."""
    with record(verbs.PAGE_CLOSED, about=ticket, by=by) as step:
        locked(ticket)
        page = ClientPage.objects.filter(ticket=ticket).first()
        if page and page.is_open:
            step.keep(page)
            page.closed_at = clock.now()
            page.save(update_fields=["closed_at"])
