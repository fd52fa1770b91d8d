"""A client comes to collect: what was done, what is paid and what leaves, in one transaction."""

from dataclasses import dataclass
from uuid import UUID

from django.db import transaction

from jobs.billing.actions import record_payment
from jobs.billing.models import Payment
from jobs.billing.queries import balance, usual_kind
from jobs.tickets import actions as tickets
from jobs.tickets.actions.locking import locked
from jobs.tickets.history import record
from jobs.tickets.models import Line, State, Ticket
from studio.shop.models import Profile, User
from studio.shop.money import format_money


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


@transaction.atomic
def hand_over(*, ticket: Ticket, said: PickUp, studio: Profile, by: User) -> Payment | None:
    """Tick, take the payment if there is one, and let the pieces go. Twice is once.

    The last pieces leave only with nothing open, unless the owner says why it is paid later; a
    helper lets nothing leave while money is open. Raises PickUpError, TicketError, BillingError.
    """
    ticket = locked(ticket)
    if ticket.state == State.COLLECTED:
        return Payment.objects.filter(form_key=said.form_key).first()
    write_ticks(ticket, said, by)
    payment = pay(ticket, said, studio, by) if said.amount else None
    here = ticket.garments.filter(removed_at=None, handed_over_at=None)
    leaving = [garment for garment in here if garment.pk in said.leaving]
    if not leaving:
        raise PickUpError(None, "Say which pieces leave now.")
    _settle(ticket, said, studio, by, last=len(leaving) == len(here))
    worn = [garment for garment in leaving if garment.pk in said.tried_on]
    tickets.hand_over(ticket=ticket, garments=leaving, tried_on=worn, by=by)
    return payment


@transaction.atomic
def pay_only(*, ticket: Ticket, said: PickUp, studio: Profile, by: User) -> Payment:
    """Take the payment and keep the ticks; nothing leaves."""
    ticket = locked(ticket)
    if not said.amount:
        if made := Payment.objects.filter(form_key=said.form_key).first():
            return made
        raise PickUpError(None, "Nothing is open on this ticket.")
    payment = pay(ticket, said, studio, by)
    write_ticks(ticket, said, by)
    return payment


def pay(ticket: Ticket, said: PickUp, studio: Profile, by: User) -> Payment:
    if not by.is_owner:
        raise PickUpError(None, "Only the owner takes money.")
    return record_payment(
        ticket=ticket,
        amount=said.amount,
        method=said.method,
        kind=usual_kind(ticket, said.amount),
        by=by,
        studio=studio,
        form_key=said.form_key,
    )


def write_ticks(ticket: Ticket, said: PickUp, by: User) -> None:
    """Every line as the page says: done, or why not. What has not changed makes no entry."""
    lines = Line.objects.filter(
        garment__ticket=ticket, garment__removed_at=None, garment__handed_over_at=None,
        removed_at=None,
    )  # fmt: skip
    for line in lines.select_related("garment__ticket"):
        why = said.reasons.get(line.pk, "")
        if line.pk in said.done:
            tickets.tick(line=line, by=by)
        elif why and why != line.not_done_why:
            tickets.why_not_done(line=line, why=why, by=by)
        elif line.done_at and not why:
            tickets.untick(line=line, by=by)


def _settle(ticket: Ticket, said: PickUp, studio: Profile, by: User, *, last: bool) -> None:
    still_open = balance(ticket)
    if still_open <= 0:
        return
    if not by.is_owner:
        raise PickUpError(None, "Money is still open on this ticket: the owner hands it over.")
    shown = format_money(still_open, ticket.currency, studio.locale)
    if last and not said.pays_later:
        raise PickUpError("pays_later", f"{shown} is still open. Take it, or say why it can wait.")
    if said.pays_later:
        record(ticket, by, f"Handed over with {shown} open: {said.pays_later}.", money=True)
