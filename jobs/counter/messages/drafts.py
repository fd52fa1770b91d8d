"""What can be said to the client of a ticket, what is to be said today, and what was said."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from typing import Any
from uuid import UUID, uuid4

from django.db.models import Prefetch

from jobs.billing.queries import age_in_days
from jobs.counter.messages.ladder import Rung, rung_due
from jobs.planning.messages import about_fitting, about_fitting_soon, about_new_day
from jobs.planning.models import Fitting
from jobs.tickets.messages import (
    ClientMessage,
    about_not_collected,
    about_promise,
    about_ready,
    client_link,
)
from jobs.tickets.models import Agreement, MessageKind, SentMessage, State, Ticket
from jobs.tickets.queries import promised_before
from studio.shop import clock
from studio.shop.models import Profile

TELLS_READY = {MessageKind.READY, MessageKind.NOT_COLLECTED}
RECENT = timedelta(days=7)
"""What nobody was told of for longer than this was told by mouth."""


@dataclass(frozen=True)
class Draft:
    """A message that may be sent; ``key`` is what it is about, see ``SentMessage.about``.

    ``sent`` is the latest that says the same and went, ``failed`` one that did not and that none
    which went came after.
    """

    kind: MessageKind
    key: str
    message: ClientMessage
    sent: SentMessage | None = None
    failed: SentMessage | None = None
    rung: Rung | None = None
    form_key: UUID = field(default_factory=uuid4)

    @property
    def ticket(self) -> Ticket:
        return self.message.ticket

    @property
    def name(self) -> str:
        """Names it among the forms of a page."""
        return f"{self.kind}-{self.ticket.number}"


@dataclass
class Sent:
    """Messages of tickets, the latest first."""

    rows: list[SentMessage]
    _of: dict[tuple[int, str, str], list[SentMessage]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for row in self.rows:
            self._of.setdefault((row.ticket_id, row.kind, row.about), []).append(row)

    @classmethod
    def of(cls, *tickets: Ticket) -> "Sent":
        rows = SentMessage.objects.filter(ticket__in=tickets).select_related("by")
        return cls(list(rows))

    def latest(
        self, ticket: Ticket, kind: str, key: str
    ) -> tuple[SentMessage | None, SentMessage | None]:
        """The latest that went, and the latest that did not if it came after."""
        rows = self._of.get((ticket.pk, kind, key), [])
        sent = next((row for row in rows if not row.wrong), None)
        return sent, rows[0] if rows and rows[0].wrong else None

    def told(self, ticket: Ticket, kind: str, key: str) -> bool:
        return self.latest(ticket, kind, key)[0] is not None


def moment_key(at: datetime | None) -> str:
    """What stands for a moment in ``SentMessage.about``."""
    return f"{clock.in_utc(at):%Y-%m-%dT%H:%M}" if at else ""


def promise_key(ticket: Ticket) -> str:
    return clock.local(ticket.promise_at).date().isoformat()


def drafts_of(ticket: Ticket, studio: Profile, *, figures: bool) -> list[Draft]:
    """All that can be said now, the likeliest first. Five queries at most."""
    sent = Sent.of(ticket)
    drafts: list[Draft] = []

    def add(kind: MessageKind, key: str, message: ClientMessage, rung: Rung | None = None) -> None:
        drafts.append(Draft(kind, key, message, *sent.latest(ticket, kind, key), rung))

    if ticket.state == State.READY:
        days = age_in_days(ticket.ready_at) if ticket.ready_at else 0
        ready = moment_key(ticket.ready_at)
        if days:
            rung = rung_due(ticket, studio, sent.rows)
            message = about_not_collected(ticket, studio)
            add(MessageKind.NOT_COLLECTED, rung_key(ticket, rung), message, rung)
        add(MessageKind.READY, ready, about_ready(ticket, studio))
        drafts.sort(key=lambda draft: draft.kind is MessageKind.READY and bool(draft.sent))
        if not sent.told(ticket, MessageKind.READY, ready) and days < RECENT.days:
            drafts.reverse()
        return drafts
    if not ticket.is_open:
        return []
    ahead = ticket.fittings.filter(state=Fitting.State.BOOKED, starts_at__gt=clock.now())
    fitting = ahead.order_by("starts_at").first()
    was = promised_before(ticket, ticket.agreements.order_by("version"))
    if was:
        add(MessageKind.MOVED, promise_key(ticket), about_new_day(ticket, was, studio))
    if fitting:
        fitting.ticket = ticket
        key = moment_key(fitting.starts_at)
        add(MessageKind.REMINDER, key, about_fitting_soon(fitting, studio))
        add(MessageKind.FITTING, key, about_fitting(fitting, studio))
    link = client_link(ticket, studio)
    add(MessageKind.RECEIVED, "", about_promise(ticket, studio, figures=figures, link=link))
    soon = fitting is not None and fitting.starts_at < end_of_tomorrow()

    def place(draft: Draft) -> tuple[bool, bool]:
        early = draft.kind is MessageKind.REMINDER and not soon
        return bool(draft.sent), early

    return sorted(drafts, key=place)


def end_of_tomorrow() -> datetime:
    return clock.at(clock.today() + timedelta(days=2), time())


@dataclass(frozen=True)
class ToSay:
    """Messages under one heading."""

    words: str
    drafts: list[Draft]


def to_say(studio: Profile) -> list[ToSay]:
    """What is to be said today, by what it is about. Ten queries for any number of tickets."""
    whole = Ticket.objects.whole().filter(state__in=State.open())
    ahead = Fitting.objects.filter(state=Fitting.State.BOOKED, starts_at__gt=clock.now())
    tickets = list(
        whole.prefetch_related(
            Prefetch("fittings", ahead.order_by("starts_at"), to_attr="ahead"),
            Prefetch("agreements", Agreement.objects.order_by("version"), to_attr="versions"),
        )
        .select_related("client_page")
        .order_by("promise_at", "pk")
    )
    sent = Sent.of(*tickets)
    groups: dict[str, list[Draft]] = {}

    def add(
        words: str, kind: MessageKind, key: str, message: ClientMessage, rung: Any = None
    ) -> None:
        draft = Draft(kind, key, message, *sent.latest(message.ticket, kind, key), rung)
        if draft.failed:
            words = "Not sent"
        elif draft.sent:
            return
        groups.setdefault(words, []).append(draft)

    for ticket in tickets:
        if ticket.state == State.READY:
            _add_ready(ticket, studio, sent, add)
            continue
        was = promised_before(ticket, ticket.versions)  # type: ignore[attr-defined]
        if was and clock.now() - ticket.versions[-1].agreed_at < RECENT:  # type: ignore[attr-defined]
            add(
                "New day",
                MessageKind.MOVED,
                promise_key(ticket),
                about_new_day(ticket, was, studio),
            )
        for fitting in ticket.ahead:  # type: ignore[attr-defined]
            if fitting.starts_at < end_of_tomorrow():
                fitting.ticket = ticket
                key = moment_key(fitting.starts_at)
                message = about_fitting_soon(fitting, studio)
                add("Fitting today or tomorrow", MessageKind.REMINDER, key, message)
    order = [
        "Not sent",
        "New day",
        "Fitting today or tomorrow",
        "Ready to collect",
        "Not collected",
    ]
    return [ToSay(words, groups[words]) for words in order if words in groups]


def rung_key(ticket: Ticket, rung: Rung | None) -> str:
    return f"{rung.days if rung else 0} {moment_key(ticket.ready_at)}"


def not_collected_draft(ticket: Ticket, studio: Profile, sent: Sent) -> Draft | None:
    """What the ladder asks for today; None where it asks nothing of this ticket."""
    rung = rung_due(ticket, studio, sent.rows)
    if rung is None:
        return None
    kind, key = MessageKind.NOT_COLLECTED, rung_key(ticket, rung)
    message = about_not_collected(ticket, studio)
    return Draft(kind, key, message, *sent.latest(ticket, kind, key), rung)


def _add_ready(ticket: Ticket, studio: Profile, sent: Sent, add: Any) -> None:
    ready = moment_key(ticket.ready_at)
    if rung := rung_due(ticket, studio, sent.rows):
        message = about_not_collected(ticket, studio)
        add("Not collected", MessageKind.NOT_COLLECTED, rung_key(ticket, rung), message, rung)
    elif ticket.ready_at and clock.now() - ticket.ready_at < RECENT:
        add("Ready to collect", MessageKind.READY, ready, about_ready(ticket, studio))


@dataclass(frozen=True)
class Telling:
    """Whether the client of a ticket that is ready knows: since ``at``, or by ``draft``."""

    at: datetime | None
    draft: Draft | None


def tellings(tickets: Iterable[Ticket], studio: Profile) -> dict[int, Telling]:
    """Of those tickets that are ready, by their keys. One query; tickets come with ``client`` and
    ``client_page``."""
    ready = [ticket for ticket in tickets if ticket.state == State.READY]
    told: dict[int, datetime] = {}
    for row in reversed(Sent.of(*ready).rows):
        if row.kind in TELLS_READY and not row.wrong:
            told[row.ticket_id] = row.at
    tellings = {}
    for ticket in ready:
        at, since = told.get(ticket.pk), ticket.ready_at
        if at and since and at >= since:
            tellings[ticket.pk] = Telling(at, None)
        else:
            draft = Draft(MessageKind.READY, moment_key(since), about_ready(ticket, studio))
            tellings[ticket.pk] = Telling(None, draft)
    return tellings


@dataclass(frozen=True)
class SayCount:
    """How much is to be said today: one line on the first page. ``untold`` are the keys of tickets
    that are ready and whose clients nobody has told."""

    untold: frozenset[int]
    fittings: int
    waiting: int
    failed: int

    @property
    def all(self) -> int:
        return len(self.untold) + self.fittings + self.waiting + self.failed

    @property
    def words(self) -> str:
        """``2 ready, 1 fitting, 3 not collected``."""
        fittings = "fitting" if self.fittings == 1 else "fittings"
        counts = [
            (self.failed, "not sent"), (len(self.untold), "ready"), (self.fittings, fittings),
            (self.waiting, "not collected"),
        ]  # fmt: skip
        return ", ".join(f"{count} {words}" for count, words in counts if count)


def count_to_say(studio: Profile) -> SayCount:
    """Without drafting anything. Three queries."""
    ready = list(Ticket.objects.filter(state=State.READY).only("pk", "ready_at", "state"))
    booked = Fitting.objects.filter(
        state=Fitting.State.BOOKED, starts_at__gt=clock.now(), starts_at__lt=end_of_tomorrow(),
        ticket__state__in=State.open(),
    )  # fmt: skip
    fittings = [(fitting.ticket_id, moment_key(fitting.starts_at)) for fitting in booked]
    rows = list(
        SentMessage.objects.filter(ticket__state__in=State.open()).only(
            "pk", "ticket_id", "kind", "about", "wrong", "at"
        )
    )
    gone = {(row.ticket_id, row.kind, row.about) for row in rows if not row.wrong}
    failed = {
        key for row in rows if row.wrong for key in [(row.ticket_id, row.kind, row.about)]
    } - gone
    waiting, fresh = 0, set()
    for ticket in ready:
        if rung := rung_due(ticket, studio, rows):
            key = (ticket.pk, MessageKind.NOT_COLLECTED.value, rung_key(ticket, rung))
            waiting += key not in failed
        elif ticket.ready_at and clock.now() - ticket.ready_at < RECENT:
            key = (ticket.pk, MessageKind.READY.value, moment_key(ticket.ready_at))
            if key not in gone | failed:
                fresh.add(ticket.pk)
    reminders = sum(
        (pk, MessageKind.REMINDER.value, key) not in gone | failed for pk, key in fittings
    )
    return SayCount(frozenset(fresh), reminders, waiting, len(failed))
