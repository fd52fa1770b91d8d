"""A client comes to collect: the rail, the form, and what was done, paid and leaves at once."""

from dataclasses import dataclass
from datetime import time, timedelta
from typing import Any
from uuid import UUID, uuid5

from django import forms
from django.db import transaction
from django.forms.boundfield import BoundField

from clients.contact import ContactLink
from jobs.billing.actions import record_payment
from jobs.billing.models import Payment
from jobs.billing.queries import age_in_days, balance, ready_tickets, usual_kind
from jobs.counter.messages.drafts import Telling, tellings
from jobs.counter.verbs import GIVEN_BACK, NOT_RIGHT, PAYS_LATER
from jobs.tickets import actions as tickets
from jobs.tickets import verbs
from jobs.tickets.actions.lock import locked
from jobs.tickets.facts import places_of
from jobs.tickets.messages import draft
from jobs.tickets.models import Garment, Line, State, Ticket
from studio.shop import clock, history
from studio.shop.forms import Chips, MoneyField, OnceForm
from studio.shop.history import note
from studio.shop.look.bars import Bar, Part
from studio.shop.may import Tick
from studio.shop.models import Entry, Profile, User
from studio.shop.money import MoneyError, decimals, format_money, parse_money
from studio.shop.once import OtherContentError, sent_before
from studio.shop.words import words_for

MONEY = ("amount", "method", "pays_later")
RAIL = 40  # hangers on the page; the list of all that is ready has the rest
LONG = 30  # days on the rail, from which on the page says so in red
ROUND = (500, 200, 150, 100, 50, 20, 10)  # sums that lie in a hand, in whole currency units


class PickUpError(ValueError):
    """It cannot be handed over so. ``field`` is the field of the form that would help."""

    def __init__(self, field: str | None, message: str) -> None:
        super().__init__(message)
        self.field = field


@dataclass(frozen=True)
class PickUp:
    """What the page says. Lines and garments by their primary keys, ``amount`` in minor units."""

    done: frozenset[int]
    reasons: dict[int, str]
    tried_on: frozenset[int]
    leaving: frozenset[int]
    form_key: UUID
    amount: int = 0
    method: str = ""
    pays_later: str = ""
    wrong: str = ""
    given_back: bool = False
    without_open: bool = False


@dataclass(frozen=True)
class TickRow:
    line: Line
    done: BoundField
    why: BoundField

    @property
    def is_open(self) -> bool:
        """Whether nothing says yet that the work is done, or why it is not."""
        return not (self.done.value() or self.why.value())


@dataclass(frozen=True)
class PieceRow:
    garment: Garment
    leaves: BoundField
    tried: BoundField
    rows: list[TickRow]

    @property
    def open_rows(self) -> list[TickRow]:
        return [row for row in self.rows if row.is_open]


class PickUpForm(OnceForm):
    """``balance`` is what is open, in minor units; None for who takes no money and sees none.

    ``now`` is how much of it is to be paid now, ``method`` how this client paid last.
    """

    fit = forms.ChoiceField(
        label="Tried on?",
        choices=[("fits", "Fits"), ("", "Not tried"), ("wrong", "Not right")],
        widget=forms.RadioSelect,
        required=False,
        initial="",
    )
    wrong = forms.CharField(label="What is not right", max_length=200, required=False)
    given_back = forms.BooleanField(label="given back", required=False)
    amount = MoneyField(label="Amount", required=False)
    method = forms.ChoiceField(
        label="Paid by",
        choices=Payment.Method.choices,
        widget=Chips({"class": "chips big"}),
        required=False,
    )
    pays_later = forms.CharField(label="Why it is paid later", max_length=200, required=False)

    def __init__(
        self,
        *args: Any,
        ticket: Ticket,
        balance: int | None,
        now: int | None = None,
        method: str = "",
        may_wait: bool = True,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        if not may_wait:
            # Only the owner lets a debt leave with the garments.
            del self.fields["pays_later"]
        self.open_amount = balance or 0
        self.garments = [g for g in ticket.garments.all() if g.handed_over_at is None]
        if not self.things:
            del self.fields["given_back"]
        for garment in self.garments:
            self._add_piece(garment)
        if balance is None or balance <= 0:
            for name in MONEY:
                self.fields.pop(name, None)
        else:
            self.fields["amount"].initial = balance if now is None else now
            self.fields["method"].initial = method

    @property
    def things(self) -> str:
        """What the client left with the garments that are here."""
        things = [garment.things_left for garment in self.garments if garment.things_left]
        return ", ".join(dict.fromkeys(things))

    def _add_piece(self, garment: Garment) -> None:
        pk = garment.pk
        self.fields[f"leaves_{pk}"] = forms.BooleanField(
            label=f"{garment.words} leaves", required=False, initial=len(self.garments) == 1
        )
        self.fields[f"tried_{pk}"] = forms.BooleanField(
            label=f"{garment.letter} was tried on", required=False
        )
        for line in garment.lines.all():
            self.fields[f"done_{line.pk}"] = forms.BooleanField(
                label=line.name, required=False, initial=line.done_at is not None
            )
            self.fields[f"why_{line.pk}"] = forms.CharField(
                label=f"Why not done: {line.name}",
                max_length=200,
                required=False,
                initial=line.not_done_why,
            )

    def pieces(self) -> list[PieceRow]:
        return [
            PieceRow(
                garment,
                self[f"leaves_{garment.pk}"],
                self[f"tried_{garment.pk}"],
                [
                    TickRow(line, self[f"done_{line.pk}"], self[f"why_{line.pk}"])
                    for line in garment.lines.all()
                ],
            )
            for garment in self.garments
        ]

    @property
    def staying(self) -> str:
        """The letters of what is not done while something else is: it may stay alone."""
        pieces = self.pieces()
        letters = [piece.garment.letter for piece in pieces if piece.open_rows]
        return " and ".join(letters) if len(letters) < len(pieces) else ""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        paying = self.data.get("intent") == "pay"
        if (cleaned.get("amount") or paying) and not cleaned.get("method"):
            self._miss("method", "Say whether it is cash, card or transfer.")
        if paying and not cleaned.get("amount"):
            self._miss("amount", "Write the amount that is paid.")
        if not paying:
            self._check_lines(cleaned)
            if cleaned.get("pays_later") and (cleaned.get("amount") or 0) >= self.open_amount:
                self._miss("pays_later", "All of it is paid now. Empty this, or the amount.")
        return cleaned

    def _check_lines(self, cleaned: dict[str, Any]) -> None:
        """What is not right stays here, so its work must have lost its tick and needs no reason."""
        still_open = [
            (garment, line)
            for garment in self.garments
            for line in garment.lines.all()
            if not cleaned[f"done_{line.pk}"] and not cleaned.get(f"why_{line.pk}")
        ]
        if cleaned.get("fit") == "wrong":
            if not cleaned.get("wrong"):
                self._miss("wrong", "Say what is not right.")
            if not still_open:
                self._miss("fit", "Take the tick off the work that is not right.")
        elif self.data.get("intent") != "without":
            for garment, line in still_open:
                if cleaned[f"leaves_{garment.pk}"]:
                    self._miss(f"why_{line.pk}", "Tick it, or say why it was not done.")

    def _miss(self, field: str, message: str) -> None:
        if field in self.fields and field not in self.errors:
            self.add_error(field, message)

    @property
    def answers(self) -> PickUp:
        """What a valid form says."""
        facts = self.cleaned_data
        leaving = self._ticked("leaves")
        return PickUp(
            done=self._ticked("done"),
            reasons={
                line.pk: facts[f"why_{line.pk}"]
                for garment in self.garments
                for line in garment.lines.all()
            },
            tried_on=leaving if facts.get("fit") == "fits" else self._ticked("tried"),
            leaving=leaving,
            form_key=facts["form_key"],
            amount=facts.get("amount") or 0,
            method=facts.get("method", ""),
            pays_later=facts.get("pays_later", ""),
            wrong=facts["wrong"] if facts.get("fit") == "wrong" else "",
            given_back=facts.get("given_back", False),
            without_open=self.data.get("intent") == "without",
        )

    def _ticked(self, what: str) -> frozenset[int]:
        names = (name.partition("_") for name, value in self.cleaned_data.items() if value)
        return frozenset(int(pk) for kind, _, pk in names if kind == what and pk.isdecimal())


@dataclass(frozen=True)
class Hanger:
    """A ticket on the rail: ``today`` if it was promised for today, ``long`` if it hangs long."""

    ticket: Any
    picture: Garment | None
    more: int
    today: bool
    long: bool
    places: str = ""
    telling: Telling | None = None


@dataclass(frozen=True)
class ReadyRail:
    """All that is ready: what was promised for today comes first, then what was finished last."""

    hangers: list[Hanger]
    count: int
    to_pay: int
    old: int

    @property
    def rest(self) -> int:
        return self.count - len(self.hangers)


def rail(studio: Profile) -> ReadyRail:
    """What hangs ready to collect. Five queries for any number of tickets."""
    whole = ready_tickets().prefetch_related("garments__lines", "garments__photos")
    whole = whole.select_related("client_page")
    ready = list(whole.order_by("-ready_at", "-pk"))
    today, told = clock.today(), tellings(ready, studio)
    hangers = []
    for ticket in ready:
        here = [g for g in ticket.garments.all() if not (g.removed_at or g.handed_over_at)]
        hangers.append(
            Hanger(
                ticket=ticket,
                picture=here[0] if here else None,
                more=len(here) - 1,
                today=clock.local(ticket.promise_at).date() == today,
                long=age_in_days(ticket.ready_at) >= LONG,
                places=places_of(here),
                telling=told.get(ticket.pk),
            )
        )
    hangers.sort(key=lambda hanger: not hanger.today)
    return ReadyRail(
        hangers[:RAIL],
        len(ready),
        sum(max(ticket.balance, 0) for ticket in ready),
        sum(hanger.long for hanger in hangers),
    )


def handed_over_today() -> list[Ticket]:
    """Tickets of which something was handed over today, the latest first. Four queries."""
    left = Garment.objects.filter(handed_over_at__gte=clock.at(clock.today(), time()))
    tickets_left = Ticket.objects.whole().filter(pk__in=left.values("ticket"))
    return list(tickets_left.order_by("-collected_at", "-pk"))


@dataclass(frozen=True)
class Settling:
    """What the ticket costs as one length: ``paid`` before, ``now``, and ``later``."""

    total: int
    paid: int
    now: int
    open: int
    sums: list[int]

    @property
    def later(self) -> int:
        return self.open - self.now


def settling(ticket: Ticket, paid: int, still_open: int, typed: str, locale: str) -> Settling:
    """How much is paid now as typed, all of it where that is no amount; and sums to choose from."""
    try:
        now = min(max(parse_money(typed, ticket.currency, locale), 0), still_open)
    except MoneyError:
        now = still_open
    whole = 10 ** decimals(ticket.currency)
    rounded = [sum_ * whole for sum_ in ROUND if sum_ * whole < still_open][:3]
    return Settling(
        paid + still_open, paid, now, still_open, [still_open, *rounded, still_open // 2]
    )


def settling_bar(settling: Settling, ticket: Ticket, studio: Profile) -> Bar:
    def part(kind: str, amount: int, words: str) -> Part:
        return Part(kind, amount, words, shown=format_money(amount, ticket.currency, studio.locale))

    return Bar(
        [
            part("coin-3", max(settling.paid, 0), "Paid before"),
            part("coin-1", settling.now, "Now"),
            part("free", settling.later, "To pay later"),
        ],
        about="How it is paid",
    )


def paid_last(ticket: Ticket) -> str:
    """How this client paid the last time, or nothing."""
    taken = Payment.objects.filter(ticket__client=ticket.client_id, amount__gt=0, reversed_by=None)
    return taken.order_by("-pk").values_list("method", flat=True).first() or ""


@dataclass(frozen=True)
class Left:
    """The latest hand-over of a ticket: what left when, what was paid with it, the way back."""

    garments: list[Garment]
    payment: Payment | None
    step: Entry | None


def latest_hand_over(ticket: Ticket, by: User) -> Left | None:
    """None while nothing of it has left."""
    gone = [(g, g.handed_over_at) for g in ticket.garments.all() if g.handed_over_at]
    if not gone:
        return None
    at = max(moment for _, moment in gone)
    entry = history.of(ticket).filter(verb=verbs.HANDED_OVER.key).order_by("-pk").first()
    taken = ticket.payments.filter(taken_at__range=(at - timedelta(minutes=1), at), amount__gt=0)
    return Left(
        [garment for garment, moment in gone if at - moment < timedelta(seconds=30)],
        taken.filter(reversed_by=None).order_by("-pk").first() if by.may(Tick.DRAWER) else None,
        history.undoable([entry], by) if entry else None,
    )


def thanks(ticket: Ticket, left: Left, studio: Profile) -> list[ContactLink]:
    """Links that send the client what was handed over and paid."""
    words = words_for(ticket.client.language, studio)
    pieces = len(left.garments)
    text = words(
        "Your ticket {number}: handed over {count} garment.",
        "Your ticket {number}: handed over {count} garments.",
        number=ticket.number, count=pieces,
    )  # fmt: skip
    if paid := left.payment:
        text += " " + words(
            "{amount} paid ({method}), receipt {receipt}.",
            amount=words.money(paid.amount, ticket.currency),
            method=words.choice(paid.get_method_display()),
            receipt=paid.number,
        )
    return draft(ticket, f"{text} {words('Thank you,')}", words, studio).links


@transaction.atomic
def hand_over(*, ticket: Ticket, answers: PickUp, studio: Profile, by: User) -> Payment | None:
    """Tick, take the payment if there is one, and let the pieces go. Twice is once.

    The last pieces leave only with nothing open, unless the owner says why it is paid later; a
    helper lets nothing leave while money is open, which she takes where that is ticked. What is
    not right stays, its work is to be done again; so does, if asked, what is not
    done. Raises PickUpError, TicketError, BillingError.
    """
    ticket = locked(ticket)
    if _again("hand over", ticket, answers) or ticket.state == State.COLLECTED:
        return Payment.objects.filter(form_key=answers.form_key).first()
    write_ticks(ticket, answers, by)
    payment = pay(ticket, answers, studio, by) if answers.amount else None
    here = ticket.garments.filter(removed_at=None, handed_over_at=None)
    leaving = [garment for garment in here if garment.pk in answers.leaving]
    if answers.wrong or answers.without_open:
        staying = {line.garment_id for line in tickets.open_lines(ticket)}
        leaving = [garment for garment in leaving if garment.pk not in staying]
    if answers.wrong:
        letters = [garment.letter for garment in here if garment.pk in staying]
        note(NOT_RIGHT, about=ticket, by=by, letters=letters, why=answers.wrong)
        if not leaving:
            return payment
    if not leaving:
        raise PickUpError(None, "Say which garments leave now.")
    _settle(ticket, answers, studio, by, last=len(leaving) == len(here))
    worn = [garment for garment in leaving if garment.pk in answers.tried_on]
    tickets.hand_over(ticket=ticket, garments=leaving, tried_on=worn, by=by)
    things = ", ".join(garment.things_left for garment in leaving if garment.things_left)
    if answers.given_back and things:
        note(GIVEN_BACK, about=ticket, by=by, things=things)
    return payment


@transaction.atomic
def pay_only(*, ticket: Ticket, answers: PickUp, studio: Profile, by: User) -> Payment:
    """Take the payment and keep the ticks; nothing leaves."""
    ticket = locked(ticket)
    _again("pay", ticket, answers)
    if not answers.amount:
        made: Payment | None = Payment.objects.filter(form_key=answers.form_key).first()
        if made:
            return made
        raise PickUpError(None, "Nothing is open on this ticket.")
    payment = pay(ticket, answers, studio, by)
    write_ticks(ticket, answers, by)
    return payment


def _again(act: str, ticket: Ticket, answers: PickUp) -> bool:
    """Whether this form has done the same before. Raises PickUpError where it was other."""
    facts = [
        sorted(value) if isinstance(value, frozenset) else value for value in vars(answers).values()
    ]
    try:
        return sent_before(uuid5(answers.form_key, act), ticket.pk, facts)
    except OtherContentError:
        raise PickUpError(
            None,
            "This form was saved already. What you changed since is not saved: open the page "
            "afresh.",
        ) from None


def pay(ticket: Ticket, answers: PickUp, studio: Profile, by: User) -> Payment:
    if not by.may(Tick.DRAWER):
        raise PickUpError(None, "Only the owner takes money.")
    return record_payment(
        ticket=ticket,
        amount=answers.amount,
        method=answers.method,
        kind=usual_kind(ticket, answers.amount),
        by=by,
        studio=studio,
        form_key=answers.form_key,
    )


def write_ticks(ticket: Ticket, answers: PickUp, by: User) -> None:
    """Every line as the page says: done, or why not. What has not changed makes no entry."""
    lines = Line.objects.filter(
        garment__ticket=ticket, garment__removed_at=None, garment__handed_over_at=None,
        removed_at=None,
    )  # fmt: skip
    for line in lines.select_related("garment__ticket"):
        why = answers.reasons.get(line.pk, "")
        if line.pk in answers.done:
            tickets.tick(line=line, by=by)
        elif why and why != line.not_done_why:
            tickets.why_not_done(line=line, why=why, by=by)
        elif line.done_at and not why:
            tickets.untick(line=line, by=by)


def _settle(ticket: Ticket, answers: PickUp, studio: Profile, by: User, *, last: bool) -> None:
    still_open = balance(ticket)
    if still_open <= 0:
        return
    if not by.is_owner:
        raise PickUpError(None, "Money is still open on this ticket: the owner hands it over.")
    shown = format_money(still_open, ticket.currency, studio.locale)
    if last and not answers.pays_later:
        raise PickUpError("pays_later", f"{shown} is still open. Take it, or say why it can wait.")
    if answers.pays_later:
        note(
            PAYS_LATER, about=ticket, by=by, open=still_open, currency=ticket.currency,
            why=answers.pays_later,
        )  # fmt: skip
