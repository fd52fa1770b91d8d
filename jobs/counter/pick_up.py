"""A client comes to collect: the form, and what was done, paid and leaves in one transaction."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid5

from django import forms
from django.db import transaction
from django.forms.boundfield import BoundField

from jobs.billing.actions import record_payment
from jobs.billing.models import Payment
from jobs.billing.queries import balance, usual_kind
from jobs.counter.verbs import PAYS_LATER
from jobs.tickets import actions as tickets
from jobs.tickets.actions.lock import locked
from jobs.tickets.models import Garment, Line, State, Ticket
from studio.shop.forms import Chips, MoneyField, OnceForm
from studio.shop.history import note
from studio.shop.models import Profile, User
from studio.shop.money import format_money
from studio.shop.once import OtherContentError, sent_before

MONEY = ("amount", "method", "pays_later")


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


@dataclass(frozen=True)
class TickRow:
    line: Line
    done: BoundField
    why: BoundField

    @property
    def asks_why(self) -> bool:
        """Whether the reason lies open: nothing says yet that the work is done."""
        return not self.done.value() or bool(self.why.value())


@dataclass(frozen=True)
class PieceRow:
    garment: Garment
    leaves: BoundField
    tried: BoundField
    rows: list[TickRow]


class PickUpForm(OnceForm):
    """``balance`` is what is open, in minor units; None for a helper, who sees no money."""

    amount = MoneyField(label="Amount", required=False)
    method = forms.ChoiceField(
        label="Paid by",
        choices=Payment.Method.choices,
        widget=Chips({"class": "chips big"}),
        required=False,
    )
    pays_later = forms.CharField(label="Or why it is paid later", max_length=200, required=False)

    def __init__(self, *args: Any, ticket: Ticket, balance: int | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.garments = [g for g in ticket.garments.all() if g.handed_over_at is None]
        for garment in self.garments:
            self._add_piece(garment)
        if balance is None or balance <= 0:
            for name in MONEY:
                del self.fields[name]
        else:
            self.fields["amount"].initial = balance

    def _add_piece(self, garment: Garment) -> None:
        pk = garment.pk
        self.fields[f"leaves_{pk}"] = forms.BooleanField(
            label="Leaves now", required=False, initial=True
        )
        self.fields[f"tried_{pk}"] = forms.BooleanField(label="Tried on", required=False)
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

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        paying = self.data.get("intent") == "pay"
        if (cleaned.get("amount") or paying) and not cleaned.get("method"):
            self._miss("method", "Say whether it is cash, card or transfer.")
        if paying and not cleaned.get("amount"):
            self._miss("amount", "Write the amount that is paid.")
        if not paying:
            self._check_lines(cleaned)
        return cleaned

    def _check_lines(self, cleaned: dict[str, Any]) -> None:
        for garment in self.garments:
            for line in garment.lines.all() if cleaned[f"leaves_{garment.pk}"] else ():
                if not cleaned[f"done_{line.pk}"] and not cleaned.get(f"why_{line.pk}"):
                    self._miss(f"why_{line.pk}", "Tick it, or say why it was not done.")

    def _miss(self, field: str, message: str) -> None:
        if field in self.fields and field not in self.errors:
            self.add_error(field, message)

    @property
    def answers(self) -> PickUp:
        """What a valid form says."""
        facts = self.cleaned_data
        return PickUp(
            done=self._ticked("done"),
            reasons={
                line.pk: facts[f"why_{line.pk}"]
                for garment in self.garments
                for line in garment.lines.all()
            },
            tried_on=self._ticked("tried"),
            leaving=self._ticked("leaves"),
            form_key=facts["form_key"],
            amount=facts.get("amount") or 0,
            method=facts.get("method", ""),
            pays_later=facts.get("pays_later", ""),
        )

    def _ticked(self, what: str) -> frozenset[int]:
        names = (name.partition("_") for name, value in self.cleaned_data.items() if value)
        return frozenset(int(pk) for kind, _, pk in names if kind == what)


@transaction.atomic
def hand_over(*, ticket: Ticket, answers: PickUp, studio: Profile, by: User) -> Payment | None:
    """Tick, take the payment if there is one, and let the pieces go. Twice is once.

    The last pieces leave only with nothing open, unless the owner says why it is paid later; a
    helper lets nothing leave while money is open. Raises PickUpError, TicketError, BillingError.
    """
    ticket = locked(ticket)
    if _again("hand over", ticket, answers) or ticket.state == State.COLLECTED:
        return Payment.objects.filter(form_key=answers.form_key).first()
    write_ticks(ticket, answers, by)
    payment = pay(ticket, answers, studio, by) if answers.amount else None
    here = ticket.garments.filter(removed_at=None, handed_over_at=None)
    leaving = [garment for garment in here if garment.pk in answers.leaving]
    if not leaving:
        raise PickUpError(None, "Say which garments leave now.")
    _settle(ticket, answers, studio, by, last=len(leaving) == len(here))
    worn = [garment for garment in leaving if garment.pk in answers.tried_on]
    tickets.hand_over(ticket=ticket, garments=leaving, tried_on=worn, by=by)
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
    if not by.is_owner:
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
